/**
 * Whether a setup and a program can go together, from their numbers alone: nothing is simulated. Every finding is one sentence
 * with the two numbers that disagree.
 */
import { BlockKind, isMove, type Plan } from '../../world/motion/index.js';
import { steepestSheet } from '../../world/plant/index.js';
import { type Setup, setupWarnings } from '../setup/index.js';
import { partsWarnings } from './parts.js';

const MS_PER_S = 1000;
const MM_MIN = 60;

/** What contradicts in a setup and in what it is to cut; empty when nothing does. */
export const contradictionsOf = (setup: Setup, plan: Plan): string[] => [
  ...setupWarnings(setup),
  ...partsWarnings(setup.machine),
  ...voltages(setup),
  ...sheets(setup),
  ...timeOuts(setup),
  ...programTimes(setup, plan),
  ...axes(setup),
];

/** What the converter can show, and what the arc is expected to bring. */
function voltages({ box, machine, world }: Setup): string[] {
  const { converter, supply } = machine;
  const codes = 2 ** converter.bits - 1 - box.reading_zero_counts;
  const full_V = (codes * box.reading_gain_mV) / 1000;
  const standing_V = box.target_V + world.arc.slope_V_per_mm * (box.pierce_height_mm - box.cut_height_mm);
  const pierce_V = standing_V + world.arc.feed_effect_V;
  const crossing_V = box.target_V + world.arc.crossing_V;
  return told([
    [
      supply.no_load_V > full_V,
      `the no-load voltage, ${volts(supply.no_load_V)} (machine.supply.no_load_V), is above what the converter can show, ${volts(full_V)} (box.reading_gain_mV): a divider with a larger ratio is needed`,
    ],
    [
      box.arc_high_V > full_V,
      `the arc window ends at ${volts(box.arc_high_V)} (box.arc_high_V), above what the converter can show, ${volts(full_V)}: a voltage that is too high is never seen`,
    ],
    [
      pierce_V > box.arc_high_V,
      `a piercing arc is expected at ${volts(pierce_V)} (target_V, slope and feed effect), above the arc window, which ends at ${volts(box.arc_high_V)} (box.arc_high_V): no arc would ever count as burning`,
    ],
    [
      crossing_V > box.arc_high_V,
      `a kerf crossing is expected at ${volts(crossing_V)} (world.arc.crossing_V above the target), above the arc window, which ends at ${volts(box.arc_high_V)} (box.arc_high_V)`,
    ],
  ]);
}

function sheets(setup: Setup): string[] {
  const { box } = setup;
  const steepest = steepestSheet(setup);
  return told([
    [
      steepest > box.slope_limit,
      `the steepest place of the sheet is ${share(steepest)} (world.sheet: tilt, waves, bow and bumps), and the box believes at most ${share(box.slope_limit)} (box.slope_limit)`,
    ],
  ]);
}

/** Time-outs of the box that end what they should wait for. */
function timeOuts({ box, machine, world }: Setup): string[] {
  const arc_ms = world.arc.strike_delay_ms + machine.firing.relay_close_ms + box.arc_on_ms;
  const start_V = box.target_V;
  const fall_ms =
    machine.firing.relay_release_ms + world.arc.off_ms + world.arc.fall_ms * Math.log(start_V / box.rest_V);
  return told([
    [
      arc_ms > box.strike_ms,
      `an arc needs ${ms(arc_ms)} to burn and to be believed (machine.firing.relay_close_ms, world.arc.strike_delay_ms, box.arc_on_ms), and the box gives a strike ${ms(box.strike_ms)} (box.strike_ms)`,
    ],
    [
      fall_ms > box.fall_ms,
      `the voltage needs ${ms(fall_ms)} to fall after the trigger (machine.firing.relay_release_ms, world.arc.off_ms, world.arc.fall_ms), and the box waits ${ms(box.fall_ms)} (box.fall_ms)`,
    ],
    [
      box.supply_contact === 1 && machine.supply.contact_delay_ms >= box.strike_ms,
      `the supply's contact comes after ${ms(machine.supply.contact_delay_ms)} (machine.supply.contact_delay_ms), and the box gives a strike ${ms(box.strike_ms)} (box.strike_ms)`,
    ],
    [
      box.pierce_ms + box.settle_ms >= box.arc_longest_s * MS_PER_S,
      `pierce and settle take ${ms(box.pierce_ms + box.settle_ms)} (box.pierce_ms, box.settle_ms), and the arc may burn ${seconds(box.arc_longest_s)} in all (box.arc_longest_s)`,
    ],
  ]);
}

/** What the program asks of the box's time-outs. */
function programTimes({ box, machine }: Setup, plan: Plan): string[] {
  const { longest, wait } = arcTimes(plan);
  const arc_s = longest.time_s + (box.pierce_ms + box.settle_ms) / MS_PER_S;
  const fastest = fastestCut(plan);
  const stop_ms = (fastest.feed_mm_s / machine.table.braking_mm_s2) * MS_PER_S;
  return told([
    [
      arc_s > box.arc_longest_s,
      `${plan.file}:${longest.line}: the cut from there takes ${seconds(arc_s)}, and the arc may burn ${seconds(box.arc_longest_s)} (box.arc_longest_s)`,
    ],
    [
      wait.time_s > box.standstill_s,
      `${plan.file}:${wait.line}: the program waits for ${seconds(wait.time_s)} with the torch on, and an arc that stands is put out after ${seconds(box.standstill_s)} (box.standstill_s)`,
    ],
    [
      stop_ms > box.stray_ms,
      `the table needs ${ms(stop_ms)} to stop from the fastest cut, ${feed(fastest.feed_mm_s)} (machine.table.braking_mm_s2), and the box takes steps after ${ms(box.stray_ms)} for a fault (box.stray_ms)`,
    ],
  ]);
}

/** More than the machine has. */
function axes({ box, machine }: Setup): string[] {
  const { axis } = machine;
  return told([
    [
      box.travel_mm > axis.travel_mm,
      `the box may use ${mm(box.travel_mm)} of travel (box.travel_mm), and Z has ${mm(axis.travel_mm)} (machine.axis.travel_mm)`,
    ],
    [
      box.seek_travel_mm < axis.z_start_mm,
      `the touch-off gives up after ${mm(box.seek_travel_mm)} (box.seek_travel_mm), and the torch starts ${mm(axis.z_start_mm)} above the sheet (machine.axis.z_start_mm)`,
    ],
    [
      box.follow_down_mm_s > axis.velocity_mm_s,
      `follow may go down at ${box.follow_down_mm_s} mm/s (box.follow_down_mm_s), and the motor follows ${axis.velocity_mm_s} mm/s (machine.axis.velocity_mm_s)`,
    ],
  ]);
}

/** Where the program is faster than Z can follow the sheet, or than the table goes. */
export function feedDangers(plan: Plan, setup: Setup): string[] {
  const { box, machine } = setup;
  const { line, feed_mm_s } = fastestCut(plan);
  const steepest = steepestSheet(setup);
  const down_mm_s = Math.min(box.follow_down_mm_s, box.z_velocity_mm_s, machine.axis.velocity_mm_s);
  const followed_mm_s = steepest > 0 ? down_mm_s / steepest : Number.POSITIVE_INFINITY;
  const { rapid_mm_s } = machine.table;
  return told([
    [
      Math.min(feed_mm_s, rapid_mm_s) > followed_mm_s,
      `${plan.file}:${line}: the cut is made at ${feed(Math.min(feed_mm_s, rapid_mm_s))}, and Z can follow a sheet of ${share(steepest)} up to ${feed(followed_mm_s)} (box.follow_down_mm_s)`,
    ],
    [
      feed_mm_s > rapid_mm_s,
      `${plan.file}:${line}: the program asks for ${feed(feed_mm_s)}, and the table goes ${feed(rapid_mm_s)} at most (machine.table.rapid_mm_s)`,
    ],
  ]);
}

/** The fastest move with the torch on. */
export function fastestCut({ steps }: Plan): { readonly line: number; readonly feed_mm_s: number } {
  let line = 0;
  let feed_mm_s = 0;
  for (let index = 0; index < steps.count; index++) {
    if (steps.torch[index] === 0 || steps.kind[index] === BlockKind.rapid || !isMove(steps.kind[index])) continue;
    if (steps.programmed_mm_s[index] <= feed_mm_s) continue;
    feed_mm_s = steps.programmed_mm_s[index];
    line = steps.line[index];
  }
  return { line, feed_mm_s };
}

interface LineTime {
  line: number;
  time_s: number;
}

/** The longest time with the torch on, by the line of its M3, and the longest wait in it. */
export function arcTimes({ steps }: Plan): { readonly longest: LineTime; readonly wait: LineTime } {
  const longest: LineTime = { line: 0, time_s: 0 };
  const wait: LineTime = { line: 0, time_s: 0 };
  let time_s = 0;
  let from = 0;
  for (let index = 0; index < steps.count; index++) {
    if (steps.torch[index] === 0) continue;
    if (steps.kind[index] === BlockKind.torchOn) {
      time_s = 0;
      from = steps.line[index];
    }
    time_s += steps.duration_s[index];
    if (time_s > longest.time_s) Object.assign(longest, { line: from, time_s });
    if (steps.kind[index] === BlockKind.dwell && steps.duration_s[index] > wait.time_s)
      Object.assign(wait, { line: steps.line[index], time_s: steps.duration_s[index] });
  }
  return { longest, wait };
}

type Told = readonly [wrong: boolean, text: string];
const told = (list: readonly Told[]): string[] => list.filter(([wrong]) => wrong).map(([, text]) => text);

const tidy = (value: number, digits: number): string => String(Number(value.toFixed(digits)));
const volts = (value: number): string => `${tidy(value, 0)} V`;
const ms = (value: number): string => `${tidy(value, 0)} ms`;
const mm = (value: number): string => `${tidy(value, 1)} mm`;
const seconds = (value: number): string => `${tidy(value, 1)} s`;
const share = (value: number): string => `${tidy(value, 3)} mm/mm`;
const feed = (mm_s: number): string => `${tidy(mm_s * MM_MIN, 0)} mm/min`;

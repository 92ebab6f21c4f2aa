import type { MachineConfig } from '../world/plant/index.js';
import { known } from './machine.js';

/** Period over which a duty cycle is rated, s. */
export const DUTY_PERIOD_S = 600;
/** Where the period comes from. */
export const DUTY_PERIOD_SOURCE = known('seen', 'IEC 60974-1, ten-minute period');
/** Where the rule of currents and duty cycles comes from. */
export const DUTY_RULE_SOURCE = known('memory', 'thermal rule, I²·X constant');

/**
 * Duty cycle at another current than the rated one, 0…100 %: I²·X stays constant.
 * @param current_A and rated_A above 0
 */
export function dutyAt_percent(current_A: number, rated_A: number, rated_percent: number): number {
  return Math.min(100, rated_percent * (rated_A / current_A) ** 2);
}

/** A time with an arc on the work, s. */
export interface ArcTime {
  readonly from_s: number;
  readonly to_s: number;
  /** Line of the program that asks for it. */
  readonly line: number;
}

/** A wait that keeps the supply within its duty cycle. */
interface Pause {
  /** The arc that waits, by its place in the list, and its line. */
  readonly before: number;
  readonly line: number;
  /** When it begins on the time line with all pauses in it, and how long it lasts, s. */
  readonly at_s: number;
  readonly pause_s: number;
}

/** What a program asks of the duty cycle of a supply. */
export interface DutyStudy {
  /** Arc time that is allowed in any ten minutes, s. */
  readonly allowed_s: number;
  /** Most arc time in any ten minutes as the program stands, s, and when those ten minutes end. */
  readonly busiest_s: number;
  readonly busiest_end_s: number;
  readonly arc_s: number;
  readonly pauses: readonly Pause[];
  /** The arc times with all pauses in between. */
  readonly paced: readonly ArcTime[];
  /** Lines of single cuts that last longer than is allowed: no pause helps them. */
  readonly too_long: readonly number[];
  /** Least time from one start of this program to the next when it is cut again and again, s. */
  readonly repeat_s: number;
}

/** A difference of less than a microsecond is rounding. */
const ROUNDING_S = 1e-6;

/**
 * Arc time in any ten minutes, and the shortest pauses, each right before a start, that keep it within what is
 * allowed. A pause is given as late as possible: nothing waits that need not.
 * @param arcs in the order of time, without overlap
 * @param allowed_percent duty cycle at the current that is set, above 0
 */
export function studyDuty(arcs: readonly ArcTime[], allowed_percent: number): DutyStudy {
  const allowed_s = (DUTY_PERIOD_S * allowed_percent) / 100;
  const busiest = busiestWindow(arcs);
  const paced: ArcTime[] = [];
  const pauses: Pause[] = [];
  const too_long: number[] = [];
  let delay_s = 0;
  for (const [before, { from_s, to_s, line }] of arcs.entries()) {
    const length_s = to_s - from_s;
    if (length_s > allowed_s + ROUNDING_S && allowed_percent < 100) too_long.push(line);
    const start_s = from_s + delay_s;
    const pause_s = pauseBefore_s(paced, start_s, length_s, allowed_s);
    if (pause_s > ROUNDING_S) pauses.push({ before, line, at_s: start_s, pause_s });
    delay_s += pause_s;
    paced.push({ from_s: from_s + delay_s, to_s: to_s + delay_s, line });
  }
  const arc_s = arcs.reduce((sum, { from_s, to_s }) => sum + to_s - from_s, 0);
  const { busiest_s, busiest_end_s } = busiest;
  return {
    allowed_s,
    busiest_s,
    busiest_end_s,
    arc_s,
    pauses,
    paced,
    too_long,
    repeat_s: (100 * arc_s) / allowed_percent,
  };
}

/**
 * The wait that a start needs. Within an arc the arc time of the last ten minutes never falls, so the arc's end is
 * the only moment to look at: the arc time before it must have shrunk to what is left.
 */
function pauseBefore_s(past: readonly ArcTime[], start_s: number, length_s: number, allowed_s: number): number {
  const end_s = start_s + length_s;
  let left_s = Math.max(0, allowed_s - length_s);
  for (let n = past.length - 1; n >= 0; n--) {
    const { from_s, to_s } = past[n];
    if (to_s <= end_s - DUTY_PERIOD_S) return 0;
    const length = to_s - from_s;
    if (length <= left_s + ROUNDING_S) {
      left_s = Math.max(0, left_s - length);
      continue;
    }
    // The window may begin no earlier than this moment inside the arc.
    return Math.max(0, to_s - left_s + DUTY_PERIOD_S - end_s);
  }
  return 0;
}

/** Arc time in the busiest ten minutes: they end with an arc's end. */
export function busiestWindow(arcs: readonly ArcTime[]): {
  readonly busiest_s: number;
  readonly busiest_end_s: number;
} {
  let busiest_s = 0;
  let busiest_end_s = 0;
  let first = 0;
  let whole_s = 0;
  for (const { from_s, to_s } of arcs) {
    whole_s += to_s - from_s;
    const begin_s = to_s - DUTY_PERIOD_S;
    while (arcs[first].to_s <= begin_s) {
      whole_s -= arcs[first].to_s - arcs[first].from_s;
      first++;
    }
    const inside_s = whole_s - Math.max(0, begin_s - arcs[first].from_s);
    if (inside_s > busiest_s + ROUNDING_S) {
      busiest_s = inside_s;
      busiest_end_s = to_s;
    }
  }
  return { busiest_s, busiest_end_s };
}

/** Arc time within a stretch of time, s. */
export function arcWithin_s(arcs: readonly ArcTime[], from_s: number, to_s: number): number {
  let sum_s = 0;
  for (const arc of arcs) sum_s += Math.max(0, Math.min(to_s, arc.to_s) - Math.max(from_s, arc.from_s));
  return sum_s;
}

/** A time line in equal steps. */
interface TimeLine {
  readonly step_s: number;
  /** Share of each step with an arc, 0…1. */
  readonly arc: readonly number[];
  /** Share of each step in a pause for the duty cycle, 0…1. */
  readonly pause: readonly number[];
  /** Arc time of the ten minutes up to each step's end, as a share of what is allowed. */
  readonly used: readonly number[];
}

/** Cuts a study with its pauses into steps. @param length_s of the whole program, pauses included; above 0 */
export function timeLine({ paced, pauses, allowed_s }: DutyStudy, length_s: number, steps: number): TimeLine {
  const step_s = length_s / steps;
  const waits = pauses.map(({ at_s, pause_s, line }): ArcTime => ({ from_s: at_s, to_s: at_s + pause_s, line }));
  const each = (value: (from_s: number, to_s: number) => number) =>
    Array.from({ length: steps }, (_, n) => value(n * step_s, (n + 1) * step_s));
  return {
    step_s,
    arc: each((from_s, to_s) => arcWithin_s(paced, from_s, to_s) / step_s),
    pause: each((from_s, to_s) => arcWithin_s(waits, from_s, to_s) / step_s),
    used: each((_, to_s) => arcWithin_s(paced, to_s - DUTY_PERIOD_S, to_s) / allowed_s),
  };
}

/** What the data plate says of a supply's duty cycle, and the current that is set. */
type DutyPlate = Pick<MachineConfig['supply'], 'cut_A' | 'rated_A' | 'duty_percent'>;

/** The arcs of a run against a supply's duty cycle. */
export interface DutyReport {
  readonly cut_A: number;
  readonly rated_A: number;
  readonly rated_percent: number;
  /** At the current that is set, %. */
  readonly allowed_percent: number;
  readonly study: DutyStudy;
  /** Length of the run without and with the pauses, s. */
  readonly length_s: number;
  readonly paced_s: number;
}

/** @param arcs in the order of time, without overlap @param length_s of the run without pauses */
export function dutyReport(arcs: readonly ArcTime[], length_s: number, plate: DutyPlate): DutyReport {
  const { cut_A, rated_A, duty_percent: rated_percent } = plate;
  const allowed_percent = dutyAt_percent(cut_A, rated_A, rated_percent);
  const study = studyDuty(arcs, allowed_percent);
  const paused_s = study.pauses.reduce((sum, { pause_s }) => sum + pause_s, 0);
  return { cut_A, rated_A, rated_percent, allowed_percent, study, length_s, paced_s: length_s + paused_s };
}

/** The arcs of a program that is cut several times in a row, from start to start `every_s`. */
export const repeatedArcs = (arcs: readonly ArcTime[], every_s: number, times: number): ArcTime[] =>
  Array.from({ length: times }, (_, n) =>
    arcs.map(({ from_s, to_s, line }) => ({ from_s: from_s + n * every_s, to_s: to_s + n * every_s, line })),
  ).flat();

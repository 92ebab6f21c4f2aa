import { steepestSheet } from '../../../world/plant/index.js';
import { arcTimes, fastestCut } from '../../job/index.js';
import { arcAtCut_V, trueGain_mV, worn_V } from './box-and-world.js';
import { ABOVE_V, about, above, boxRemedy, type Case, quantity, repair, type Suspicion } from './suspicion.js';

/** Limits of the box that end what they should wait for, or cannot reach; and what the axis cannot do. */
export const limits = (of: Case): Suspicion[] =>
  [window, fullScale, strike, pierceHeight, searches, falls, burns, waits, motor, backlash, slopes, downwards].flatMap(
    (rule) => rule(of),
  );

/** Highest voltage of a cut: over a crossing, slow, worn. */
const highest_V = ({ setup }: Case): number =>
  arcAtCut_V(setup) + worn_V(setup) + setup.world.arc.crossing_V + setup.world.arc.feed_effect_V;

function window(of: Case): Suspicion[] {
  const { setup } = of;
  const { box, world } = setup;
  const cut_V = arcAtCut_V(setup) + worn_V(setup);
  const seen = 'At the table the arc burns, and the box says that there is none, or loses it at corners and crossings.';
  const found: Suspicion[] = [];
  const high_V = Math.max(highest_V(of), cut_V + world.arc.slope_V_per_mm * (box.pierce_height_mm - box.cut_height_mm));
  if (box.arc_high_V < high_V) {
    const what = `The arc window ends at ${quantity(box.arc_high_V, 'V')} (arc_high_V); this arc comes to ${quantity(high_V, 'V')}.`;
    found.push({
      cause: 'arc-window',
      what,
      seen,
      remedies: [boxRemedy(setup, { arc_high_V: Math.ceil(high_V + ABOVE_V) })],
    });
  }
  if (box.arc_low_V > cut_V - 10) {
    const what = `The arc window begins at ${quantity(box.arc_low_V, 'V')} (arc_low_V); at cut height this arc has ${quantity(cut_V, 'V')}.`;
    found.push({ cause: 'arc-window', what, seen, remedies: [boxRemedy(setup, { arc_low_V: Math.round(cut_V / 2) })] });
  }
  return found;
}

function fullScale(of: Case): Suspicion[] {
  const { setup } = of;
  const { box, machine } = setup;
  const codes = 2 ** machine.converter.bits - 1 - machine.converter.zero_counts;
  const full_V = (codes * trueGain_mV(setup)) / 1000;
  const needed_V = highest_V(of);
  if (full_V >= needed_V) return [];
  const factor = (1.05 * Math.max(machine.supply.no_load_V, needed_V)) / full_V;
  const what = `The converter shows ${quantity(full_V, 'V')} at most; this arc comes to ${quantity(needed_V, 'V')}.`;
  const seen = 'At the table the voltage shown comes to a highest value and stays there, whatever the torch does.';
  const ratio = Number((machine.divider.ratio * factor).toPrecision(4));
  const gain = boxRemedy(setup, { reading_gain_mV: box.reading_gain_mV * factor });
  const swap = repair(setup, '', { 'machine.divider.ratio': ratio });
  const act = `Put in a divider with a ratio of ${quantity(ratio, '')} (standoff divider proposes one). ${gain.do}`;
  return [{ cause: 'full-scale', what, seen, remedies: [{ do: act, changes: [...swap.changes, ...gain.changes] }] }];
}

function strike({ setup }: Case): Suspicion[] {
  const { box, machine, world } = setup;
  const { strike_delay_ms, no_load_ms, contact_start_ms } = world.arc;
  const needed_ms =
    Math.max(strike_delay_ms, no_load_ms + contact_start_ms) + machine.firing.relay_close_ms + box.arc_on_ms;
  if (box.strike_ms > 1.2 * needed_ms) return [];
  const what = `A strike may take ${quantity(box.strike_ms, 'ms')} (strike_ms); this supply needs ${quantity(needed_ms, 'ms')} until an arc is believed.`;
  const seen = 'At the table the pilot goes out again just before the arc would burn.';
  return [
    { cause: 'strike-time', what, seen, remedies: [boxRemedy(setup, { strike_ms: Math.max(1500, 2 * needed_ms) })] },
  ];
}

function pierceHeight({ setup }: Case): Suspicion[] {
  const { box, world } = setup;
  const reach_mm = world.arc.transfer_height_mm;
  if (box.pierce_height_mm <= 0.95 * reach_mm) return [];
  const what = `The torch strikes at ${quantity(box.pierce_height_mm, 'mm')} (pierce_height_mm); the pilot of this torch reaches ${quantity(reach_mm, 'mm')}.`;
  const seen = 'At the table the pilot burns and no cutting arc follows.';
  const to = Math.max(box.cut_height_mm, 0.7 * reach_mm);
  return [{ cause: 'pierce-height', what, seen, remedies: [boxRemedy(setup, { pierce_height_mm: to })] }];
}

function searches({ setup }: Case): Suspicion[] {
  const { box, machine } = setup;
  const start_mm = machine.axis.z_start_mm;
  if (Math.min(box.seek_travel_mm, box.travel_mm) > start_mm + 5) return [];
  const what = `The touch-off goes down ${quantity(box.seek_travel_mm, 'mm')} at most (seek_travel_mm); the torch starts ${quantity(start_mm, 'mm')} above the sheet.`;
  const seen = 'At the table the torch comes down, stops above the sheet and goes up again.';
  const needed_mm = Math.ceil(start_mm + 20);
  const values = { seek_travel_mm: needed_mm, travel_mm: Math.max(box.travel_mm, needed_mm + 15) };
  return [{ cause: 'search-travel', what, seen, remedies: [boxRemedy(setup, values)] }];
}

function falls({ setup }: Case): Suspicion[] {
  const { box, machine, world } = setup;
  const decay_ms = world.arc.fall_ms * Math.log((arcAtCut_V(setup) + world.arc.feed_effect_V) / box.rest_V);
  const needed_ms = machine.firing.relay_release_ms + world.arc.off_ms + Math.max(0, decay_ms);
  if (box.fall_ms > 1.1 * needed_ms) return [];
  const what = `The voltage must be down within ${quantity(box.fall_ms, 'ms')} of trigger off (fall_ms); this supply needs ${quantity(needed_ms, 'ms')}.`;
  const seen = 'At the table every cut ends with the fault voltage-at-rest, and the latched stop is set.';
  return [
    {
      cause: 'fall-time',
      what,
      seen,
      remedies: [boxRemedy(setup, { fall_ms: Math.max(500, Math.ceil(2 * needed_ms)) })],
    },
  ];
}

function burns({ setup, plan }: Case): Suspicion[] {
  const { box } = setup;
  const { longest } = arcTimes(plan);
  const arc_s = longest.time_s + (box.pierce_ms + box.settle_ms) / 1000;
  if (arc_s < box.arc_longest_s) return [];
  const what = `The cut of line ${longest.line} takes ${quantity(arc_s, 's')}; the arc may burn ${quantity(box.arc_longest_s, 's')} (arc_longest_s).`;
  const seen = 'At the table the torch goes out in the middle of a long cut, always after the same time.';
  return [{ cause: 'arc-time', what, seen, remedies: [boxRemedy(setup, { arc_longest_s: Math.ceil(2 * arc_s) })] }];
}

function waits({ setup, plan }: Case): Suspicion[] {
  const { wait } = arcTimes(plan);
  if (wait.time_s < 1) return [];
  const what = `The program waits ${quantity(wait.time_s, 's')} in line ${wait.line} with the torch on; an arc that stands is put out after ${quantity(setup.box.standstill_s, 's')} (standstill_s).`;
  const seen = 'At the table the torch burns a hole where it stands, and the arc goes out.';
  const changes = [{ path: 'program.waits', from: `line ${wait.line}`, to: 'none' }];
  return [
    { cause: 'waits', what, seen, remedies: [{ do: `Take the wait of line ${wait.line} out of the cut.`, changes }] },
  ];
}

const STALLS = 'At the table the motor stalls or growls at quick moves, and Z is no longer where the box believes.';

function motor({ setup }: Case): Suspicion[] {
  const { box, machine } = setup;
  const { velocity_mm_s, acceleration_mm_s2, start_stop_mm_s, steps_per_mm } = machine.axis;
  // The slowest move is a step in a millisecond: a motor must take that up at once.
  const step_mm_s = 1000 / steps_per_mm;
  const fast = 0.9 * velocity_mm_s;
  const slower = boxRemedy(setup, {
    z_velocity_mm_s: Math.min(box.z_velocity_mm_s, fast),
    z_acceleration_mm_s2: Math.min(box.z_acceleration_mm_s2, 0.9 * acceleration_mm_s2),
    seek_fast_mm_s: Math.min(box.seek_fast_mm_s, fast),
    follow_down_mm_s: Math.min(box.follow_down_mm_s, fast),
  });
  if (start_stop_mm_s + acceleration_mm_s2 / 1000 < step_mm_s) {
    const what = `The motor takes up ${quantity(start_stop_mm_s, 'mm/s')} at once (machine.axis.start_stop_mm_s); one step in a millisecond is ${quantity(step_mm_s, 'mm/s')}.`;
    const other = { 'machine.axis.start_stop_mm_s': Math.ceil(2 * step_mm_s) };
    const swap = repair(setup, 'Fit a stronger motor, or give it more current, or finer steps.', other);
    const both = { do: `${swap.do} ${slower.do}`, changes: [...swap.changes, ...slower.changes] };
    return [{ cause: 'motor', what, seen: STALLS, remedies: [slower.changes.length > 0 ? both : swap] }];
  }
  if (slower.changes.length === 0) return [];
  const what =
    `The box moves Z at up to ${quantity(box.z_velocity_mm_s, 'mm/s')} and ${quantity(box.z_acceleration_mm_s2, 'mm/s²')}; ` +
    `the motor follows ${quantity(velocity_mm_s, 'mm/s')} and ${quantity(acceleration_mm_s2, 'mm/s²')}.`;
  return [{ cause: 'motor', what, seen: STALLS, remedies: [slower] }];
}

function backlash({ setup }: Case): Suspicion[] {
  const { backlash_um } = setup.machine.axis;
  return above(
    backlash_um,
    50,
    'backlash',
    [
      `Z has ${quantity(backlash_um, 'µm')} of backlash (machine.axis.backlash_um).`,
      'At the table the carriage can be moved up and down by hand while the motor is held; a dial gauge shows by how much.',
    ],
    () => [
      repair(setup, 'Take up the play of screw, nut and coupling, or load the carriage by a spring.', {
        'machine.axis.backlash_um': 10,
      }),
    ],
  );
}

function slopes({ setup }: Case): Suspicion[] {
  const { box } = setup;
  const steepest = steepestSheet(setup);
  if (steepest <= box.slope_limit) return [];
  const what = `The sheet is as steep as ${about(steepest, 'mm/mm')}; the box believes ${quantity(box.slope_limit, '')} at most (slope_limit).`;
  const seen = 'At the table the torch stays too high where the sheet falls away, until the box gives up.';
  const values = { slope_limit: 1.3 * steepest, floor_allowance_mm: Math.max(box.floor_allowance_mm, 0.7) };
  return [{ cause: 'slope-limit', what, seen, remedies: [boxRemedy(setup, values)] }];
}

function downwards({ setup, plan }: Case): Suspicion[] {
  const { box, machine } = setup;
  const needed_mm_s = fastestCut(plan).feed_mm_s * steepestSheet(setup);
  if (needed_mm_s < box.follow_down_mm_s) return [];
  const what = `At this feed the sheet falls away at up to ${about(needed_mm_s, 'mm/s')}; Z follows down at ${quantity(box.follow_down_mm_s, 'mm/s')} (follow_down_mm_s).`;
  const seen = 'At the table the torch is too high on every slope that goes down, and never on one that goes up.';
  const most = Math.min(box.z_velocity_mm_s, 0.9 * machine.axis.velocity_mm_s);
  const to = Math.min(most, Math.max(10, 1.5 * needed_mm_s));
  return to <= box.follow_down_mm_s
    ? []
    : [{ cause: 'follow-speed', what, seen, remedies: [boxRemedy(setup, { follow_down_mm_s: to })] }];
}

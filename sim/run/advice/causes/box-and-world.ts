import type { ParameterName } from '../../../../firmware/wire/parameter-rows.js';
import type { Setup } from '../../setup/index.js';
import { about, boxChange, boxRemedy, type Case, quantity, repair, type Suspicion } from './suspicion.js';

/** One value that the box was told, and what it truly is. */
interface Told {
  readonly cause: string;
  readonly parameter: ParameterName;
  readonly unit: string;
  readonly truth: (setup: Setup) => number;
  /** The two may differ by so much. */
  readonly allowed: (truth: number, setup: Setup) => number;
  /** What it is, such as `the arc`. */
  readonly of: string;
  readonly seen: string;
  /** How to find the true value at a table; empty where the number is on a plate. */
  readonly find: string;
}

const share = (part: number) => (truth: number) => part * Math.abs(truth);

/** What the arc is at cut height and target feed, without wear, V. */
export function arcAtCut_V({ box, world }: Setup): number {
  const { voltage_at_cut_V, cut_standoff_mm, slope_V_per_mm, feed_effect_V, nominal_feed_mm_s } = world.arc;
  const slow = Math.max(0, 1 - box.target_feed_mm_s / nominal_feed_mm_s);
  return voltage_at_cut_V + slope_V_per_mm * (box.cut_height_mm - cut_standoff_mm) + feed_effect_V * slow;
}

/** What the electrode has lost already, V. */
export const worn_V = ({ world: { arc } }: Setup): number =>
  arc.wear_V_per_start * arc.used_starts + arc.wear_V_per_min * arc.used_min;

/** Arc voltage for a count, as divider, isolation, converter and their errors make it, mV. */
export function trueGain_mV({ machine: { divider, isolation, converter } }: Setup): number {
  const step_mV = (converter.reference_V * 1000) / 2 ** converter.bits;
  const errors = (1 + divider.gain_error) * (1 + isolation.gain_error) * (1 + converter.gain_error);
  return (divider.ratio * step_mV) / errors;
}

const TOLD: readonly Told[] = [
  {
    cause: 'z-steps',
    parameter: 'z_steps_per_mm',
    unit: 'steps/mm',
    truth: ({ machine }) => machine.axis.steps_per_mm,
    allowed: share(0.01),
    of: 'the Z axis',
    seen: 'At the table Z moves another distance than it is told: a move of 10 mm, measured with a rule, shows it.',
    find: 'Move Z by 10 mm and measure.',
  },
  {
    cause: 'xy-steps',
    parameter: 'x_steps_per_mm',
    unit: 'steps/mm',
    truth: ({ machine }) => machine.table.x_steps_per_mm,
    allowed: share(0.01),
    of: 'the X axis',
    seen: 'At the table the feed that the box shows is not the feed of the program.',
    find: 'Compare the feed shown with the feed programmed.',
  },
  {
    cause: 'xy-steps',
    parameter: 'y_steps_per_mm',
    unit: 'steps/mm',
    truth: ({ machine }) => machine.table.y_steps_per_mm,
    allowed: share(0.01),
    of: 'the Y axis',
    seen: 'At the table the feed that the box shows is not the feed of the program.',
    find: 'Compare the feed shown with the feed programmed.',
  },
  {
    cause: 'divider-gain',
    parameter: 'reading_gain_mV',
    unit: 'mV a count',
    truth: trueGain_mV,
    allowed: share(0.02),
    of: 'the divider with its converter',
    seen: 'At the table the voltage that the box shows is not what a meter shows at the same place.',
    find: 'Calibrate: standoff calibrate turns two meter readings into the value.',
  },
  {
    cause: 'divider-zero',
    parameter: 'reading_zero_counts',
    unit: 'counts',
    truth: ({ machine: { converter } }) => converter.zero_counts + converter.offset_counts,
    allowed: () => 5,
    of: 'the converter with no voltage',
    seen: 'At the table the box shows volts although the supply is off.',
    find: 'Read the counts with the supply off.',
  },
  {
    cause: 'mains',
    parameter: 'mains_Hz',
    unit: 'Hz',
    truth: ({ machine }) => machine.supply.mains_Hz,
    allowed: () => 0.5,
    of: 'the mains',
    seen: 'At the table the voltage shown swings although the torch stands still: the ripple is not averaged out.',
    find: '',
  },
  {
    cause: 'arc-slope',
    parameter: 'arc_slope_V_per_mm',
    unit: 'V/mm',
    truth: ({ world }) => world.arc.slope_V_per_mm,
    allowed: share(0.2),
    of: 'the arc',
    seen: 'At the table Z hunts where the told value is too low, and lags behind the sheet where it is too high.',
    find: 'Measure the arc voltage at two standoffs a millimetre apart, over flat sheet at one feed.',
  },
  {
    cause: 'touch-offset',
    parameter: 'touch_offset_mm',
    unit: 'mm',
    truth: () => 0,
    allowed: () => 0.05,
    of: 'the touch-off switch, which opens with the tip on the sheet,',
    seen: 'At the table the torch rides as much too low or too high in every cut: a feeler gauge after the touch-off shows it.',
    find: 'Measure the gap at pierce height with a gauge.',
  },
];

function toldOtherwise(row: Told, setup: Setup): Suspicion[] {
  const { cause, parameter, unit, seen, find } = row;
  const truth = row.truth(setup);
  const told = setup.box[parameter];
  if (Math.abs(told - truth) <= row.allowed(truth, setup)) return [];
  const what = `The box was told ${quantity(told, unit)} (${parameter}); ${row.of} has ${quantity(truth, unit)}.`;
  return [{ cause, what, seen, remedies: [boxRemedy(setup, { [parameter]: truth }, find)] }];
}

/** The target that is held without being found at each start. */
function targets({ setup }: Case): Suspicion[] {
  const { box, world } = setup;
  if (box.target_learned === 1) return [];
  const slope = world.arc.slope_V_per_mm;
  const wear_V = worn_V(setup);
  const truth_V = arcAtCut_V(setup) + wear_V;
  const off_mm = (box.target_V - truth_V) / slope;
  const low = off_mm < 0;
  const seen = `At the table the torch rides ${about(Math.abs(off_mm), 'mm')} too ${low ? 'low' : 'high'}, from the first cut on.`;
  const find = boxChange(setup, 'target_learned', 1);
  const found = {
    do: 'Set target_learned to 1, now 0: the box then finds the target at each start.',
    changes: [find],
  };
  if (Math.abs(wear_V) > 0.1 * slope) {
    const fresh = { 'world.arc.used_starts': 0, 'world.arc.used_min': 0 };
    const what = `The electrode is worn: it adds ${quantity(wear_V, 'V')} to the arc, and the target, ${quantity(box.target_V, 'V')} (target_V), is not found again.`;
    return [{ cause: 'wear', what, seen, remedies: [repair(setup, 'Put in a new electrode.', fresh), found] }];
  }
  if (Math.abs(off_mm) < 0.08) return [];
  const what = `The box holds ${quantity(box.target_V, 'V')} (target_V); at cut height this arc has ${quantity(truth_V, 'V')}.`;
  const told = boxRemedy(setup, { target_V: truth_V });
  return [{ cause: 'target', what, seen, remedies: [told, found] }];
}

/** What the box was told and is otherwise. */
export const boxAndWorld = (of: Case): Suspicion[] => [
  ...TOLD.flatMap((row) => toldOtherwise(row, of.setup)),
  ...targets(of),
];

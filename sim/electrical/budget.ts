import { tapOf } from './circuit.js';
import type { ElectricalMachine, Use } from './machine.js';

/** How arc volts become converter steps. */
export interface Scale {
  /** Arc volts for one converter step. */
  readonly step_V: number;
  /** Highest arc voltage that is read: the converter's top or the isolation stage's limit, whichever is lower, V. */
  readonly full_scale_V: number;
  /** The same with every part at the unlucky end of its tolerance, V. */
  readonly least_full_scale_V: number;
  /** Lowest arc voltage that is read, below 0 so that reversed leads show, V. */
  readonly lowest_V: number;
  /** Which of the two ends the range. */
  readonly ended_by: 'converter' | 'isolation stage';
  /** What is left above the no-load voltage at worst, % of it; below 0 it is not read. */
  readonly headroom_percent: number;
}

type Needed = Pick<ElectricalMachine, 'divider' | 'isolation' | 'converter' | 'supply'>;

/** Range and step of a chain. */
export function scaleOf(machine: Needed): Scale {
  const { divider, isolation, converter, supply } = machine;
  const { ratio } = tapOf(machine);
  const codes = 2 ** converter.bits;
  const step_V = (ratio * converter.reference_V) / codes;
  const by_converter_V = (codes - 1 - converter.zero_counts) * step_V;
  const by_isolation_V = ratio * isolation.input_V;
  const full_scale_V = Math.min(by_converter_V, by_isolation_V);
  const unlucky =
    lowestRatio(divider.tolerance_percent, ratio) *
    (1 - (isolation.tolerance_percent + converter.reference_percent) / 100);
  const least_full_scale_V = (full_scale_V / ratio) * unlucky;
  return {
    step_V,
    full_scale_V,
    least_full_scale_V,
    lowest_V: -converter.zero_counts * step_V,
    ended_by: by_converter_V <= by_isolation_V ? 'converter' : 'isolation stage',
    headroom_percent: 100 * (least_full_scale_V / supply.no_load_V - 1),
  };
}

/**
 * Ratio with the upper resistors at the low and the lower one at the high end of their tolerance. The lower one's
 * load is left out, which errs towards a wider spread.
 */
export const lowestRatio = (tolerance_percent: number, ratio: number): number =>
  1 + ((ratio - 1) * (100 - tolerance_percent)) / (100 + tolerance_percent);

/** The other way round. */
export const highestRatio = (tolerance_percent: number, ratio: number): number =>
  1 + ((ratio - 1) * (100 + tolerance_percent)) / (100 - tolerance_percent);

/** One cause of a wrong reading. */
export interface ErrorTerm {
  readonly cause: string;
  /** Greatest error that it makes at the target voltage, either way, V. */
  readonly error_V: number;
  /** `fixed` is taken out by a calibration, the others stay: `drift` comes and goes, `step` is the converter's. */
  readonly kind: 'fixed' | 'drift' | 'step' | 'linearity' | 'meter';
}

/** Several causes together. */
export interface ErrorSum {
  /** All at their greatest and all one way, V. */
  readonly worst_V: number;
  /** Two standard deviations with every cause spread evenly over its limits (rectangular, GUM; memory), V. */
  readonly likely_V: number;
  readonly worst_percent: number;
  readonly worst_mm: number;
  readonly likely_mm: number;
}

/** How far a reading may be off at the target voltage. */
export interface Budget {
  readonly at_V: number;
  readonly slope_V_per_mm: number;
  readonly step_mm: number;
  /** Noise of one reading, its own rounding (step/√12) included, V rms; the box takes the mean of some hundred. */
  readonly noise_V_rms: number;
  readonly lowest_ratio: number;
  readonly highest_ratio: number;
  /** Two standard deviations of the ratio, % of it, from the resistors' tolerance. */
  readonly likely_ratio_percent: number;
  readonly terms: readonly ErrorTerm[];
  /** Before a calibration: all but the meter. */
  readonly uncalibrated: ErrorSum;
  /** After one: all but what is fixed. */
  readonly calibrated: ErrorSum;
  /** Steps and drift alone: what the standoff may wander by within a day. */
  readonly wander: ErrorSum;
}

/** A quantity spread evenly over ±a has the standard deviation a/√3 (rectangular distribution; GUM, memory). */
const RECTANGULAR = 1 / Math.sqrt(3);
/** Two standard deviations. */
const COVERAGE = 2;

/** The error budget of a chain at the target voltage. */
export function budgetOf(machine: ElectricalMachine, use: Use): Budget {
  const { divider, isolation, converter, shop, meter } = machine;
  const { ratio } = tapOf(machine);
  const { step_V } = scaleOf(machine);
  const at_V = use.target_V;
  /** Share of the ratio that follows the resistors, and K between calibration and the furthest temperature. */
  const follows = (ratio - 1) / ratio;
  const away_K = Math.max(shop.warmest_C - shop.calibrated_C, shop.calibrated_C - shop.coldest_C, 0);
  const ppm = (value: number) => at_V * value * 1e-6 * away_K;
  const percent = (value: number) => (at_V * value) / 100;
  const lowest_ratio = lowestRatio(divider.tolerance_percent, ratio);
  const highest_ratio = highestRatio(divider.tolerance_percent, ratio);
  const spread = Math.max(highest_ratio - ratio, ratio - lowest_ratio) / ratio;
  const terms: ErrorTerm[] = [
    { kind: 'fixed', cause: 'tolerance of the resistors', error_V: at_V * spread },
    { kind: 'fixed', cause: 'gain of the isolation stage', error_V: percent(isolation.tolerance_percent) },
    { kind: 'fixed', cause: 'reference', error_V: percent(converter.reference_percent) },
    // Upper and lower resistors may drift against each other.
    { kind: 'drift', cause: 'drift of the resistors', error_V: ppm(2 * divider.drift_ppm_per_K * follows) },
    { kind: 'drift', cause: 'drift of the isolation stage', error_V: ppm(isolation.drift_ppm_per_K) },
    {
      kind: 'drift',
      cause: 'drift of its zero',
      error_V: isolation.offset_drift_uV_per_K * 1e-6 * away_K * ratio,
    },
    { kind: 'drift', cause: 'drift of the reference', error_V: ppm(converter.reference_drift_ppm_per_K) },
    { kind: 'step', cause: 'half a converter step', error_V: step_V / 2 },
    {
      kind: 'linearity',
      cause: 'linearity of the isolation stage',
      error_V: (isolation.linearity_percent / 100) * isolation.input_V * ratio,
    },
    { kind: 'linearity', cause: 'linearity of the converter', error_V: converter.linearity_counts * step_V },
    { kind: 'meter', cause: 'meter of the calibration', error_V: percent(meter.accuracy_percent) + meter.accuracy_V },
  ];
  const sum = (kinds: readonly ErrorTerm['kind'][]) =>
    sumOf(
      terms.filter(({ kind }) => kinds.includes(kind)),
      use,
    );
  const { top_resistors } = divider;
  // The next stage's load does not follow the lower resistor.
  const own = isolation.input_kohm / (isolation.input_kohm + divider.bottom_kohm);
  return {
    at_V,
    slope_V_per_mm: use.slope_V_per_mm,
    step_mm: step_V / use.slope_V_per_mm,
    noise_V_rms: step_V * Math.sqrt(converter.noise_counts ** 2 + 1 / 12),
    lowest_ratio,
    highest_ratio,
    likely_ratio_percent:
      COVERAGE * follows * divider.tolerance_percent * RECTANGULAR * Math.sqrt(1 / top_resistors + own * own),
    terms,
    uncalibrated: sum(['fixed', 'drift', 'step', 'linearity']),
    calibrated: sum(['drift', 'step', 'linearity', 'meter']),
    wander: sum(['drift', 'step']),
  };
}

function sumOf(terms: readonly ErrorTerm[], { target_V, slope_V_per_mm }: Use): ErrorSum {
  const worst_V = terms.reduce((sum, { error_V }) => sum + error_V, 0);
  const likely_V = COVERAGE * RECTANGULAR * Math.sqrt(terms.reduce((sum, { error_V }) => sum + error_V * error_V, 0));
  return {
    worst_V,
    likely_V,
    worst_percent: (100 * worst_V) / target_V,
    worst_mm: worst_V / slope_V_per_mm,
    likely_mm: likely_V / slope_V_per_mm,
  };
}

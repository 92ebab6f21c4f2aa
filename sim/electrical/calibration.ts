import type { CodeOf } from '../base/index.js';
import { StandoffError } from '../base/index.js';
import { highestRatio, scaleOf } from './budget.js';
import { tapOf } from './circuit.js';
import type { ElectricalMachine } from './machine.js';

/** A straight line y = slope·x + intercept by least squares, with what its uncertainty follows from. */
interface Line {
  readonly count: number;
  readonly slope: number;
  readonly intercept: number;
  readonly mean_x: number;
  /** Sum of the squared distances of x from its mean. */
  readonly spread: number;
  /** How much of a change of y at place m the line follows at place n (hat matrix). */
  weight(n: number, m: number): number;
  /** How much of a change of y at place m the slope takes up. */
  slopeWeight(m: number): number;
}

/** Ordinary least squares (any text on statistics). @param x at least two different values */
function fitLine(x: readonly number[], y: readonly number[]): Line {
  const count = x.length;
  const mean_x = x.reduce((sum, each) => sum + each, 0) / count;
  const mean_y = y.reduce((sum, each) => sum + each, 0) / count;
  const spread = x.reduce((sum, each) => sum + (each - mean_x) ** 2, 0);
  const slope = x.reduce((sum, each, n) => sum + (each - mean_x) * (y[n] - mean_y), 0) / spread;
  return {
    count,
    slope,
    intercept: mean_y - slope * mean_x,
    mean_x,
    spread,
    slopeWeight: (m) => (x[m] - mean_x) / spread,
    weight: (n, m) => 1 / count + ((x[n] - mean_x) * (x[m] - mean_x)) / spread,
  };
}

/** What a meter showed at the tap's leads and what the box read at the same time. */
export interface Pair {
  /** With its sign: negative with the leads exchanged. */
  readonly meter_V: number;
  /** Mean converter reading; a fraction where it is a mean of many. */
  readonly counts: number;
  /** Where the pair was given, for messages, such as `pairs.csv:3`. */
  readonly place: string;
}

interface Residual {
  readonly pair: Pair;
  /** Meter less line, V. */
  readonly residual_V: number;
  /** Largest residual that meter, steps and linearity of the parts can make here, V. */
  readonly allowed_V: number;
}

/** A straight line from counts to volts: V = gain · (counts − zero). */
export interface Calibration {
  readonly gain_mV: number;
  readonly zero_counts: number;
  /** Two standard uncertainties. */
  readonly gain_uncertainty_mV: number;
  readonly zero_uncertainty_counts: number;
  /** The same of a voltage read at the target, V. */
  readonly target_V: number;
  readonly target_uncertainty_V: number;
  /** What the parts make by their values. */
  readonly nominal_gain_mV: number;
  readonly residuals: readonly Residual[];
  /** A reading with exchanged leads was among the pairs. */
  readonly both_polarities: boolean;
}

/** Two for a line and one that could contradict it. */
const FEWEST = 3;
/** Readings behind a box's mean: one second at 10 kHz. */
const READINGS = 10_000;
/** A calibration that leaves the target more uncertain than this is none, % of it; ours. */
const MOST_UNCERTAIN_PERCENT = 1;
/** Widest offset of an isolation stage that the machine section allows, mV. */
const MOST_OFFSET_MV = 50;
const RECTANGULAR = 1 / Math.sqrt(3);
const COVERAGE = 2;

/**
 * Gain and zero by least squares, with residuals and uncertainty (GUM, JCGM 100; memory: a stated limit ±a counts as
 * a/√3, two standard uncertainties are stated).
 * @param pairs in any order
 * @param target_V voltage at which the uncertainty is wanted
 * @throws StandoffError `calibration-…` for pairs that make no sense or that the parts do not allow
 */
export function calibrate(pairs: readonly Pair[], machine: ElectricalMachine, target_V: number): Calibration {
  refusePairs(pairs, machine);
  const { step_V } = scaleOf(machine);
  const line = fitLine(
    pairs.map(({ counts }) => counts),
    pairs.map(({ meter_V }) => meter_V),
  );
  if (!(line.slope > 0)) {
    throw refusal(
      'sign',
      'the counts fall while the volts rise',
      'the leads are exchanged, or the signs of the volts are: the work clamp is positive',
    );
  }
  const zero_counts = -line.intercept / line.slope;
  const own = pointLimits_V(machine, line.slope);
  const own_V = own.reduce((sum, each) => sum + each, 0);
  const residuals = pairs.map((pair, n): Residual => {
    const residual_V = pair.meter_V - (line.slope * pair.counts + line.intercept);
    return {
      pair,
      residual_V,
      allowed_V: allowedResidual_V(line, n, pairs, machine, own_V),
    };
  });
  refuseResiduals(residuals);
  const result = { residuals, ...uncertainties(line, pairs, machine, target_V, own) };
  refuseParts(line, machine, own_V);
  refuseUncertain(result.target_uncertainty_V, target_V, pairs);
  return {
    gain_mV: 1000 * line.slope,
    zero_counts,
    target_V,
    nominal_gain_mV: 1000 * step_V,
    both_polarities: pairs.some(({ meter_V }) => meter_V < 0) && pairs.some(({ meter_V }) => meter_V > 0),
    ...result,
  };
}

/** Limits of a single pair's error besides the meter's share of the reading, V: step, linearity twice, meter's rest. */
function pointLimits_V({ converter, isolation, divider, meter }: ElectricalMachine, gain_V: number): number[] {
  const { ratio } = tapOf({ divider, isolation });
  return [
    gain_V * (0.5 + (3 * converter.noise_counts) / Math.sqrt(READINGS)),
    gain_V * converter.linearity_counts,
    (isolation.linearity_percent / 100) * isolation.input_V * ratio,
    meter.accuracy_V,
  ];
}

/** The largest residual at one pair: every pair's error at its limit and against it, through the fit's own weights. */
function allowedResidual_V(
  line: Line,
  n: number,
  pairs: readonly Pair[],
  machine: ElectricalMachine,
  own_V: number,
): number {
  return pairs.reduce(
    (sum, _, m) => sum + Math.abs((n === m ? 1 : 0) - line.weight(n, m)) * own_V,
    machine.meter.accuracy_V,
  );
}

function uncertainties(
  line: Line,
  pairs: readonly Pair[],
  machine: ElectricalMachine,
  target_V: number,
  own_V: readonly number[],
) {
  const { meter } = machine;
  const alone = RECTANGULAR * Math.hypot(...own_V);
  // A meter may be off by its digits at every point alike, and by its share of the reading at every point alike.
  const common_V = RECTANGULAR * meter.accuracy_V;
  const share = (RECTANGULAR * meter.accuracy_percent) / 100;
  const zero_counts = -line.intercept / line.slope;
  const target_counts = zero_counts + target_V / line.slope;
  const at = (counts: number) => alone * Math.sqrt(1 / pairs.length + (counts - line.mean_x) ** 2 / line.spread);
  return {
    gain_uncertainty_mV: 1000 * COVERAGE * Math.hypot(alone / Math.sqrt(line.spread), line.slope * share),
    zero_uncertainty_counts: (COVERAGE * Math.hypot(at(zero_counts), common_V)) / line.slope,
    target_uncertainty_V: COVERAGE * Math.hypot(at(target_counts), common_V, target_V * share),
  };
}

function refusePairs(pairs: readonly Pair[], machine: ElectricalMachine): void {
  if (pairs.length < FEWEST) {
    const what = pairs.length === 1 ? 'there is 1 pair' : `there are ${pairs.length} pairs`;
    throw refusal('few', what, `take at least ${FEWEST}: two make a line, another one tests it`);
  }
  const { bits, zero_counts, reference_V } = machine.converter;
  const top = 2 ** bits - 1;
  const { step_V } = scaleOf(machine);
  const offset_counts = (MOST_OFFSET_MV / 1000 / reference_V) * 2 ** bits;
  for (const { meter_V, counts, place } of pairs) {
    if (counts <= 0.5 || counts >= top - 0.5) {
      const end = counts <= 0.5 ? 'bottom' : 'top';
      throw refusal(
        'range-end',
        `${place}: ${counts} counts are the converter's ${end}`,
        `take a voltage between ${Math.ceil(-zero_counts * step_V)} and ${Math.floor((top - zero_counts) * step_V)} V`,
      );
    }
    const clear = meter_V !== 0 && Math.abs(counts - zero_counts) > offset_counts;
    if (clear && Math.sign(meter_V) !== Math.sign(counts - zero_counts)) {
      throw refusal(
        'polarity',
        `${place}: ${meter_V} V read ${counts} counts, on the other side of zero`,
        'the leads are exchanged, or the sign is missing: the work clamp is positive',
      );
    }
  }
  const volts = pairs.map(({ meter_V }) => meter_V);
  const counts = pairs.map((pair) => pair.counts);
  if (Math.max(...counts) - Math.min(...counts) < 2 || Math.max(...volts) === Math.min(...volts)) {
    throw refusal('close', 'all pairs are at one voltage', 'take them far apart, with 0 V among them');
  }
}

function refuseResiduals(residuals: readonly Residual[]): void {
  const worst = residuals.reduce((most, next) =>
    Math.abs(next.residual_V) - next.allowed_V > Math.abs(most.residual_V) - most.allowed_V ? next : most,
  );
  if (Math.abs(worst.residual_V) <= worst.allowed_V) return;
  const { pair, residual_V, allowed_V } = worst;
  throw refusal(
    'residual',
    `${pair.place}: ${pair.meter_V} V lie ${Math.abs(residual_V).toFixed(2)} V off the line, the parts allow ${allowed_V.toFixed(2)} V`,
    'read this pair again: meter range, a source that moved, a loose lead',
  );
}

/** Refuses a line that no parts within their tolerances make, every pair's error at its limit and against it. */
function refuseParts(line: Line, machine: ElectricalMachine, own_V: number): void {
  const { divider, isolation, converter, meter } = machine;
  const { ratio } = tapOf(machine);
  const nominal_V = scaleOf(machine).step_V;
  const places = Array.from({ length: line.count }, (_, m) => m);
  const steepest_V = own_V * places.reduce((sum, m) => sum + Math.abs(line.slopeWeight(m)), 0);
  const percent = isolation.tolerance_percent + converter.reference_percent + meter.accuracy_percent;
  const spread = highestRatio(divider.tolerance_percent, ratio) / ratio - 1 + percent / 100;
  const limit_V = spread * nominal_V + steepest_V;
  if (Math.abs(line.slope - nominal_V) > limit_V) {
    throw refusal(
      'gain',
      `a count is ${(1000 * line.slope).toFixed(2)} mV, the parts allow ${(1000 * nominal_V).toFixed(2)} ± ${(1000 * limit_V).toFixed(2)} mV`,
      'look for a wrong resistor or a meter in the wrong range, or correct the parts in machine.divider',
    );
  }
  const zero_counts = -line.intercept / line.slope;
  const shifted = places.reduce(
    (sum, m) => sum + Math.abs(1 / line.count + (zero_counts - line.mean_x) * line.slopeWeight(m)),
    0,
  );
  const offset_counts = (MOST_OFFSET_MV / 1000 / converter.reference_V) * 2 ** converter.bits;
  const limit = offset_counts + (own_V * shifted + meter.accuracy_V) / line.slope;
  if (Math.abs(zero_counts - converter.zero_counts) > limit) {
    throw refusal(
      'zero',
      `0 V would read ${zero_counts.toFixed(1)} counts, ${converter.zero_counts} ± ${limit.toFixed(0)} are expected`,
      'look at the isolation stage and its bias, or correct machine.converter.zero_counts',
    );
  }
}

function refuseUncertain(uncertainty_V: number, target_V: number, pairs: readonly Pair[]): void {
  if (uncertainty_V <= (MOST_UNCERTAIN_PERCENT / 100) * target_V) return;
  const volts = pairs.map(({ meter_V }) => meter_V);
  const what = `pairs from ${Math.min(...volts)} to ${Math.max(...volts)} V leave ${target_V} V uncertain by ${uncertainty_V.toFixed(1)} V`;
  throw refusal(
    'close',
    what,
    `take them further apart, or with a better meter: ${MOST_UNCERTAIN_PERCENT} % is wanted`,
  );
}

const refusal = (code: CodeOf<'calibration'>, what: string, remedy: string) =>
  new StandoffError(`calibration-${code}`, what, remedy);

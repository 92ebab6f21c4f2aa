import { tapOf } from './circuit.js';
import type { BenchMachine } from './machine.js';

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

type Needed = Pick<BenchMachine, 'divider' | 'isolation' | 'converter' | 'supply'>;

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

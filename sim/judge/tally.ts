import { FAULT_ROWS, HOLD_ROWS } from '../../firmware/wire/code-rows.js';
import type { ErrorFigures, FaultFigures, HoldFigures } from './figures-types.js';
import { ErrorHistogram } from './histogram.js';

/** What is counted alike for the run and for each contour. */
export class Tally {
  readonly sizes = new ErrorHistogram();
  ticks = 0;
  sum_mm = 0;
  square_mm2 = 0;
  worst_mm = 0;
  least_standoff_mm = Number.POSITIVE_INFINITY;
  starts = 0;
  arc_ticks = 0;
  length_mm = 0;
  readonly hold_count = new Float64Array(HOLD_ROWS.length);
  readonly hold_ticks = new Float64Array(HOLD_ROWS.length);
  readonly hold_mm = new Float64Array(HOLD_ROWS.length);
  faults: FaultFigures[] = [];

  clear(): void {
    this.sizes.clear();
    this.ticks = 0;
    this.sum_mm = 0;
    this.square_mm2 = 0;
    this.worst_mm = 0;
    this.least_standoff_mm = Number.POSITIVE_INFINITY;
    this.starts = 0;
    this.arc_ticks = 0;
    this.length_mm = 0;
    this.hold_count.fill(0);
    this.hold_ticks.fill(0);
    this.hold_mm.fill(0);
    this.faults = [];
  }

  /** Adds a finished contour. */
  merge(other: Tally): void {
    this.sizes.merge(other.sizes);
    this.ticks += other.ticks;
    this.sum_mm += other.sum_mm;
    this.square_mm2 += other.square_mm2;
    this.worst_mm = Math.max(this.worst_mm, other.worst_mm);
    this.least_standoff_mm = Math.min(this.least_standoff_mm, other.least_standoff_mm);
    this.starts += other.starts;
    this.arc_ticks += other.arc_ticks;
    this.length_mm += other.length_mm;
    for (let code = 0; code < HOLD_ROWS.length; code++) {
      this.hold_count[code] += other.hold_count[code];
      this.hold_ticks[code] += other.hold_ticks[code];
      this.hold_mm[code] += other.hold_mm[code];
    }
    this.faults.push(...other.faults);
  }

  errors(): ErrorFigures & { readonly standoff_error_mean_mm: number | null } {
    const some = this.ticks > 0;
    return {
      standoff_error_rms_mm: some ? Math.sqrt(this.square_mm2 / this.ticks) : null,
      standoff_error_mean_mm: some ? this.sum_mm / this.ticks : null,
      standoff_error_p95_mm: this.sizes.quantile_mm(0.95),
      standoff_error_worst_mm: some ? this.worst_mm : null,
    };
  }

  leastStandoff_mm(): number | null {
    return this.least_standoff_mm === Number.POSITIVE_INFINITY ? null : this.least_standoff_mm;
  }

  holds(): HoldFigures[] {
    return HOLD_ROWS.filter((row) => this.hold_ticks[row.code] > 0 && row.code !== 0).map((row) => ({
      cause: row.name,
      count: this.hold_count[row.code],
      time_s: this.hold_ticks[row.code] / 1000,
      length_mm: this.hold_mm[row.code],
    }));
  }
}

/** The name of a fault code; a code that no row has is shown as its number. */
export function faultName(code: number): string {
  return FAULT_ROWS[code]?.name ?? `fault-${code}`;
}

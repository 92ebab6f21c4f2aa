import { FAULT_ROWS, HOLD_ROWS } from '../../firmware/wire/code-rows.js';

/** The holds of one cause. */
export interface HoldFigures {
  /** Name of the cause, as in the hold rows. */
  readonly cause: string;
  readonly count: number;
  readonly time_s: number;
  /** Path travelled during them, mm. */
  readonly length_mm: number;
}

/** One fault as it arose. */
export interface FaultFigures {
  readonly tick: number;
  /** FAULT_* */
  readonly code: number;
  readonly name: string;
  /** Arc voltage that the box measured in that tick, V. */
  readonly measured_V: number;
  readonly contour: number;
  /** Line of the program. */
  readonly line: number;
}

/**
 * Figures that a contour has as well as the run. The standoff error is standoff − cut height. It counts in mode follow
 * only, and not where the arc crosses a kerf or the torch is beyond the sheet: there is no sheet to keep a distance
 * from. A figure that the run says nothing about is null.
 */
interface CommonFigures {
  readonly standoff_error_rms_mm: number | null;
  /** Signed: above 0 the torch is too high. */
  readonly standoff_error_mean_mm: number | null;
  /** Not exceeded in 95 % of the ticks; to 0.001 mm, rounded up. */
  readonly standoff_error_p95_mm: number | null;
  readonly standoff_error_worst_mm: number | null;
  /** Least standoff while the arc burned, from settle to hold, over the sheet. */
  readonly least_standoff_mm: number | null;
  readonly arc_on_s: number;
  /** How often an arc was struck. */
  readonly starts: number;
  readonly holds: readonly HoldFigures[];
  readonly faults: readonly FaultFigures[];
}

/** One contour: from a torch request to the next. */
export interface ContourFigures extends CommonFigures {
  /** Index, from 0. */
  readonly contour: number;
  /** Its first line of the program. */
  readonly line: number;
  /** Path with the arc burning, in settle, follow or hold. */
  readonly length_mm: number;
}

/** The figures of a run. */
export interface RunFigures extends CommonFigures {
  /** Not exceeded in 99.9 % of the ticks; to 0.001 mm, rounded up. */
  readonly standoff_error_p999_mm: number | null;
  /** Rms of the error in settle, follow and hold, with crossings, without what lies beyond the sheet. */
  readonly cut_error_rms_mm: number | null;
  /** Time in follow over the sheet: what the errors above are measured over. */
  readonly following_s: number;
  /** Time in follow with an error above the quality goal for 99.9 % of the time. */
  readonly out_of_tolerance_s: number;
  /**
   * Deepest dive below cut height, 0 or more, within CORNER_WINDOW_MM of path from a corner, in follow or hold; without
   * crossings and what follows them.
   */
  readonly corner_dive_mm: number | null;
  /** How often the torch passed a corner. */
  readonly corners: number;
  /**
   * Deepest dive below cut height, 0 or more, in follow or hold, from the start of a crossing until CROSSING_AFTER_MS
   * or CROSSING_AFTER_MM after its end, whichever comes first.
   */
  readonly kerf_crossing_dive_mm: number | null;
  readonly crossings: number;
  /** How often the torch touched the sheet, outside the touch-off. */
  readonly contacts: number;
  readonly cut_length_mm: number;
  /** Reversals of Z in follow, per second of follow. */
  readonly reversals_per_s: number | null;
  /** Share, 0…1, of the ticks in follow at the limit of acceleration; of velocity. */
  readonly acceleration_limited_share: number | null;
  readonly velocity_limited_share: number | null;
  readonly lost_steps: number;
  /** What the box last took for the arc's voltage at cut height and target feed, how far that can be off, and the feed effect. */
  readonly found_target_V: number | null;
  readonly found_deviation_mm: number | null;
  readonly found_feed_effect_V: number | null;
  /** Longest time from trigger off until the firing contact opened; of the firing circuit, not of the box. */
  readonly relay_release_ms: number | null;
  /** Arc time in the busiest ten minutes, in whole seconds, as a share of ten minutes, 0…1. */
  readonly duty_cycle: number;
  readonly simulated_s: number;
  readonly contours: readonly ContourFigures[];
}

/** Width of a bin, mm. */
const BIN_MM = 0.001;
/** Errors of this size and above share the last bin, mm. */
const RANGE_MM = 20;
const BINS = RANGE_MM / BIN_MM + 1;
/** Enough for the errors of a good cut; more are made when needed. */
const FEW_BINS = 1024;

/**
 * Sizes of errors, counted in fixed bins of 0.001 mm from 0 to 20 mm: the same percentiles on every engine, in the same
 * memory for a minute and for a day. Bin k holds k…k + 1 µm; 20 mm and more fall in the last.
 */
export class ErrorHistogram {
  private bins = new Uint32Array(FEW_BINS);
  private total = 0;
  private highest = 0;

  add(size_mm: number): void {
    const bin = size_mm < RANGE_MM ? (size_mm * 1000) | 0 : BINS - 1;
    if (bin >= this.bins.length) this.grow(bin);
    this.bins[bin]++;
    this.total++;
    if (bin > this.highest) this.highest = bin;
  }

  /** Adds all that the other one counted. */
  merge(other: ErrorHistogram): void {
    if (other.highest >= this.bins.length) this.grow(other.highest);
    for (let bin = 0; bin <= other.highest; bin++) this.bins[bin] += other.bins[bin];
    this.total += other.total;
    if (other.highest > this.highest) this.highest = other.highest;
  }

  private grow(bin: number): void {
    const larger = new Uint32Array(Math.min(BINS, Math.max(bin + 1, 4 * this.bins.length)));
    larger.set(this.bins);
    this.bins = larger;
  }

  /**
   * The size that a share (0…1) of the counted errors does not exceed, mm: the upper edge of its bin, at most 0.001 mm
   * too large and never too small. Null while nothing was counted.
   */
  quantile_mm(share: number): number | null {
    if (this.total === 0) return null;
    const needed = Math.ceil(share * this.total);
    let counted = 0;
    for (let bin = 0; bin <= this.highest; bin++) {
      counted += this.bins[bin];
      if (counted >= needed && counted > 0) return (bin + 1) / 1000;
    }
    return (this.highest + 1) / 1000;
  }
}

/** What is counted in the same way for the run and for each contour. */
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
  readonly faults: FaultFigures[] = [];

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

  figures(): CommonFigures {
    const some = this.ticks > 0;
    const least_mm = this.least_standoff_mm;
    return {
      standoff_error_rms_mm: some ? Math.sqrt(this.square_mm2 / this.ticks) : null,
      standoff_error_mean_mm: some ? this.sum_mm / this.ticks : null,
      standoff_error_p95_mm: this.sizes.quantile_mm(0.95),
      standoff_error_worst_mm: some ? this.worst_mm : null,
      least_standoff_mm: least_mm === Number.POSITIVE_INFINITY ? null : least_mm,
      arc_on_s: this.arc_ticks / 1000,
      starts: this.starts,
      holds: this.holds(),
      faults: [...this.faults],
    };
  }

  private holds(): HoldFigures[] {
    return HOLD_ROWS.filter((row) => this.hold_ticks[row.code] > 0 && row.code !== 0).map((row) => ({
      cause: row.name,
      count: this.hold_count[row.code],
      time_s: this.hold_ticks[row.code] / 1000,
      length_mm: this.hold_mm[row.code],
    }));
  }
}

/** The name of a fault; a code without a row is shown as its number. */
export function faultName(code: number): string {
  return FAULT_ROWS[code]?.name ?? `fault-${code}`;
}

/** The lesser of two numbers, where NaN stands for `nothing yet`. */
export function lesser(a: number, b: number): number {
  return a < b || Number.isNaN(b) ? a : b;
}

/** The greater of two numbers, where NaN stands for `nothing yet`. */
export function greater(a: number, b: number): number {
  return a > b || Number.isNaN(b) ? a : b;
}

/** Width of a bin along the path. */
export const PATH_BIN_MM = 0.25;
const PATH_BINS = 512;

/** In `gap`: the arc met metal that was gone. */
export const GAP_KERF = 1;
/** In `gap`: beyond the edge of the sheet. */
export const GAP_EDGE = 2;

/**
 * The last 128 mm of path, in bins of 0.25 mm: where the sheet was and where the torch tip went over it.
 * Bounded: an old bin is overwritten. Bins are addressed by their number from the start of the run.
 */
export class PathRing {
  /** Number of the newest bin; -1 while there is none. */
  newest = -1;
  /** Number of the oldest bin that is still there. */
  oldest = 0;
  private readonly plate_mm = new Float32Array(PATH_BINS);
  private readonly low_mm = new Float32Array(PATH_BINS);
  private readonly high_mm = new Float32Array(PATH_BINS);
  private readonly wanted_mm = new Float32Array(PATH_BINS);
  private readonly gaps = new Uint8Array(PATH_BINS);
  private readonly contours = new Int16Array(PATH_BINS);

  /**
   * @param plate_mm  height of the sheet under the torch
   * @param torch_mm  height of the torch tip, or NaN while nothing burns
   * @param wanted_mm standoff that is wanted there
   * @param gap       GAP_* bits
   */
  add(path_mm: number, plate_mm: number, torch_mm: number, wanted_mm: number, gap: number, contour: number): void {
    const bin = Math.floor(path_mm / PATH_BIN_MM);
    if (bin > this.newest) this.open(bin);
    const at = bin % PATH_BINS;
    if (bin < this.oldest) return;
    // Two contours may meet in one bin, each at its own place on the sheet: the later one has it.
    if (this.contours[at] !== contour) this.clear(at);
    this.plate_mm[at] = plate_mm;
    this.wanted_mm[at] = wanted_mm;
    this.gaps[at] |= gap;
    this.contours[at] = contour;
    this.low_mm[at] = lesser(this.low_mm[at], torch_mm);
    this.high_mm[at] = greater(this.high_mm[at], torch_mm);
  }

  has(bin: number): boolean {
    return bin >= this.oldest && bin <= this.newest;
  }

  plate(bin: number): number {
    return this.plate_mm[bin % PATH_BINS];
  }

  /** Lowest torch tip in the bin; NaN when nothing burned there. */
  low(bin: number): number {
    return this.low_mm[bin % PATH_BINS];
  }

  high(bin: number): number {
    return this.high_mm[bin % PATH_BINS];
  }

  wanted(bin: number): number {
    return this.wanted_mm[bin % PATH_BINS];
  }

  gap(bin: number): number {
    return this.gaps[bin % PATH_BINS];
  }

  contour(bin: number): number {
    return this.contours[bin % PATH_BINS];
  }

  copy(): PathRing {
    const copy = new PathRing();
    copy.newest = this.newest;
    copy.oldest = this.oldest;
    copy.plate_mm.set(this.plate_mm);
    copy.low_mm.set(this.low_mm);
    copy.high_mm.set(this.high_mm);
    copy.wanted_mm.set(this.wanted_mm);
    copy.gaps.set(this.gaps);
    copy.contours.set(this.contours);
    return copy;
  }

  private open(bin: number): void {
    if (this.newest < 0 || bin - this.newest >= PATH_BINS) this.oldest = bin;
    else this.oldest = Math.max(this.oldest, bin - PATH_BINS + 1);
    // A tick may step over a bin at a very high feed; the bins between are marked as unknown.
    for (let fresh = Math.max(this.newest + 1, this.oldest); fresh <= bin; fresh++) this.clear(fresh % PATH_BINS);
    this.newest = bin;
  }

  private clear(at: number): void {
    this.plate_mm[at] = Number.NaN;
    this.low_mm[at] = Number.NaN;
    this.high_mm[at] = Number.NaN;
    this.wanted_mm[at] = Number.NaN;
    this.gaps[at] = 0;
    this.contours[at] = -1;
  }
}

/** Width of a bin in time. */
export const TIME_BIN_MS = 5;
const TIME_BINS = 4096;

/** The last 20 s, in bins of 5 ms: standoff, arc voltage, mode and hold. Bounded, as PathRing is. */
export class TimeRing {
  newest = -1;
  oldest = 0;
  private readonly standoff_low_mm = new Float32Array(TIME_BINS);
  private readonly standoff_high_mm = new Float32Array(TIME_BINS);
  private readonly arc_low_V = new Float32Array(TIME_BINS);
  private readonly arc_high_V = new Float32Array(TIME_BINS);
  private readonly targets_V = new Float32Array(TIME_BINS);
  private readonly modes = new Uint8Array(TIME_BINS);
  private readonly holds = new Uint8Array(TIME_BINS);

  /** One row of a run; @param tick from power-up, one a millisecond. */
  add(tick: number, standoff_mm: number, measured_V: number, target_V: number, mode: number, hold: number): void {
    const bin = Math.floor(tick / TIME_BIN_MS);
    const at = bin % TIME_BINS;
    if (bin > this.newest) {
      this.open(bin);
      this.standoff_low_mm[at] = standoff_mm;
      this.standoff_high_mm[at] = standoff_mm;
      this.arc_low_V[at] = measured_V;
      this.arc_high_V[at] = measured_V;
      this.holds[at] = 0;
    } else {
      if (standoff_mm < this.standoff_low_mm[at]) this.standoff_low_mm[at] = standoff_mm;
      if (standoff_mm > this.standoff_high_mm[at]) this.standoff_high_mm[at] = standoff_mm;
      if (measured_V < this.arc_low_V[at]) this.arc_low_V[at] = measured_V;
      if (measured_V > this.arc_high_V[at]) this.arc_high_V[at] = measured_V;
    }
    this.targets_V[at] = target_V;
    this.modes[at] = mode;
    if (hold !== 0) this.holds[at] = hold;
  }

  /** Time that was left out, such as rows of a box that were lost on the way, stays empty. */
  private open(bin: number): void {
    if (this.newest < 0 || bin - this.newest >= TIME_BINS) this.oldest = bin;
    else if (bin - TIME_BINS + 1 > this.oldest) this.oldest = bin - TIME_BINS + 1;
    for (let left_out = Math.max(this.newest + 1, this.oldest); left_out < bin; left_out++) {
      const at = left_out % TIME_BINS;
      this.standoff_low_mm[at] = this.standoff_high_mm[at] = Number.NaN;
      this.arc_low_V[at] = this.arc_high_V[at] = this.targets_V[at] = Number.NaN;
      this.modes[at] = 0;
      this.holds[at] = 0;
    }
    this.newest = bin;
  }

  has(bin: number): boolean {
    return bin >= this.oldest && bin <= this.newest;
  }

  standoffLow(bin: number): number {
    return this.standoff_low_mm[bin % TIME_BINS];
  }

  standoffHigh(bin: number): number {
    return this.standoff_high_mm[bin % TIME_BINS];
  }

  arcLow(bin: number): number {
    return this.arc_low_V[bin % TIME_BINS];
  }

  arcHigh(bin: number): number {
    return this.arc_high_V[bin % TIME_BINS];
  }

  target(bin: number): number {
    return this.targets_V[bin % TIME_BINS];
  }

  mode(bin: number): number {
    return this.modes[bin % TIME_BINS];
  }

  /** HOLD_* code met in the bin, 0 for none. */
  hold(bin: number): number {
    return this.holds[bin % TIME_BINS];
  }
}

const OVERVIEW_BINS = 1024;

/**
 * The whole run along its path, however long: least and largest standoff in each of at most 1024 bins.
 * When the path outgrows them, neighbours are joined and a bin covers twice the path.
 */
export class Overview {
  /** Path that one bin covers, mm. */
  bin_mm = 1;
  /** Bins in use. */
  count = 0;
  private readonly low_mm = new Float32Array(OVERVIEW_BINS).fill(Number.NaN);
  private readonly high_mm = new Float32Array(OVERVIEW_BINS).fill(Number.NaN);

  add(path_mm: number, standoff_mm: number): void {
    let at = Math.floor(path_mm / this.bin_mm);
    while (at >= OVERVIEW_BINS) {
      this.join();
      at = Math.floor(path_mm / this.bin_mm);
    }
    if (at >= this.count) this.count = at + 1;
    this.low_mm[at] = lesser(this.low_mm[at], standoff_mm);
    this.high_mm[at] = greater(this.high_mm[at], standoff_mm);
  }

  /** Least standoff of bins from…to (not included); NaN when nothing was cut there. */
  low(from: number, to: number): number {
    let low = Number.NaN;
    for (let at = from; at < to; at++) low = lesser(low, this.low_mm[at]);
    return low;
  }

  high(from: number, to: number): number {
    let high = Number.NaN;
    for (let at = from; at < to; at++) high = greater(high, this.high_mm[at]);
    return high;
  }

  private join(): void {
    for (let at = 0; at < OVERVIEW_BINS / 2; at++) {
      const low = this.low(2 * at, 2 * at + 2);
      const high = this.high(2 * at, 2 * at + 2);
      this.low_mm[at] = low;
      this.high_mm[at] = high;
    }
    this.low_mm.fill(Number.NaN, OVERVIEW_BINS / 2);
    this.high_mm.fill(Number.NaN, OVERVIEW_BINS / 2);
    this.count = Math.ceil(this.count / 2);
    this.bin_mm *= 2;
  }
}

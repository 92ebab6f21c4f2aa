import { greater, lesser } from './extremes.js';

/** Width of a bin along the path. */
export const PATH_BIN_MM = 0.25;
const BINS = 512;

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
  private readonly plate_mm = new Float32Array(BINS);
  private readonly low_mm = new Float32Array(BINS);
  private readonly high_mm = new Float32Array(BINS);
  private readonly wanted_mm = new Float32Array(BINS);
  private readonly gaps = new Uint8Array(BINS);
  private readonly contours = new Int16Array(BINS);

  /**
   * @param plate_mm  height of the sheet under the torch
   * @param torch_mm  height of the torch tip, or NaN while nothing burns
   * @param wanted_mm standoff that is wanted there
   * @param gap       GAP_* bits
   */
  add(path_mm: number, plate_mm: number, torch_mm: number, wanted_mm: number, gap: number, contour: number): void {
    const bin = Math.floor(path_mm / PATH_BIN_MM);
    if (bin > this.newest) this.open(bin);
    const at = bin % BINS;
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
    return this.plate_mm[bin % BINS];
  }

  /** Lowest torch tip in the bin; NaN when nothing burned there. */
  low(bin: number): number {
    return this.low_mm[bin % BINS];
  }

  high(bin: number): number {
    return this.high_mm[bin % BINS];
  }

  wanted(bin: number): number {
    return this.wanted_mm[bin % BINS];
  }

  gap(bin: number): number {
    return this.gaps[bin % BINS];
  }

  contour(bin: number): number {
    return this.contours[bin % BINS];
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
    if (this.newest < 0 || bin - this.newest >= BINS) this.oldest = bin;
    else this.oldest = Math.max(this.oldest, bin - BINS + 1);
    // A tick may step over a bin at a very high feed; the bins between are marked as unknown.
    for (let fresh = Math.max(this.newest + 1, this.oldest); fresh <= bin; fresh++) this.clear(fresh % BINS);
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

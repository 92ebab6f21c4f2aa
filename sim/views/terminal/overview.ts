import { greater, lesser } from './extremes.js';

const BINS = 1024;

/**
 * The whole run along its path, however long: least and largest standoff in each of at most 1024 bins.
 * When the path outgrows them, neighbours are joined and a bin covers twice the path.
 */
export class Overview {
  /** Path that one bin covers, mm. */
  bin_mm = 1;
  /** Bins in use. */
  count = 0;
  private readonly low_mm = new Float32Array(BINS).fill(Number.NaN);
  private readonly high_mm = new Float32Array(BINS).fill(Number.NaN);

  add(path_mm: number, standoff_mm: number): void {
    let at = Math.floor(path_mm / this.bin_mm);
    while (at >= BINS) {
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
    for (let at = 0; at < BINS / 2; at++) {
      const low = this.low(2 * at, 2 * at + 2);
      const high = this.high(2 * at, 2 * at + 2);
      this.low_mm[at] = low;
      this.high_mm[at] = high;
    }
    this.low_mm.fill(Number.NaN, BINS / 2);
    this.high_mm.fill(Number.NaN, BINS / 2);
    this.count = Math.ceil(this.count / 2);
    this.bin_mm *= 2;
  }
}

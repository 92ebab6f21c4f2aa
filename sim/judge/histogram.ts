/** Width of a bin, mm. */
export const BIN_MM = 0.001;
/** Errors from here on share the last bin, mm. */
const RANGE_MM = 20;
const BINS = RANGE_MM / BIN_MM + 1;
/** Errors of a cut that goes well have room in these; more are made when one comes. */
const FEW_BINS = 1024;

/**
 * Sizes of errors counted in fixed bins of 0.001 mm from 0 to 20 mm: the same percentiles on every engine, in
 * the same memory for a minute and for a day. Bin k holds k…k + 1 µm; what is 20 mm or more falls in the last.
 */
export class ErrorHistogram {
  private bins = new Uint32Array(FEW_BINS);
  private total = 0;
  private highest = 0;

  add(size_mm: number): void {
    const bin = size_mm < RANGE_MM ? (size_mm * 1000) | 0 : BINS - 1;
    if (bin >= this.bins.length) this.makeRoom(bin);
    this.bins[bin]++;
    this.total++;
    if (bin > this.highest) this.highest = bin;
  }

  /** Adds all that the other one counted. */
  merge(other: ErrorHistogram): void {
    if (other.highest >= this.bins.length) this.makeRoom(other.highest);
    for (let bin = 0; bin <= other.highest; bin++) this.bins[bin] += other.bins[bin];
    this.total += other.total;
    if (other.highest > this.highest) this.highest = other.highest;
  }

  private makeRoom(bin: number): void {
    const larger = new Uint32Array(Math.min(BINS, Math.max(bin + 1, 4 * this.bins.length)));
    larger.set(this.bins);
    this.bins = larger;
  }

  clear(): void {
    this.bins.fill(0, 0, this.highest + 1);
    this.total = 0;
    this.highest = 0;
  }

  /**
   * The size that the share (0…1) of all counted errors does not exceed: the upper edge of its bin, so that
   * the answer is at most 0.001 mm too large and never too small. Null while nothing was counted.
   */
  quantile_mm(share: number): number | null {
    if (this.total === 0) return null;
    const wanted = Math.ceil(share * this.total);
    let seen = 0;
    for (let bin = 0; bin <= this.highest; bin++) {
      seen += this.bins[bin];
      if (seen >= wanted && seen > 0) return (bin + 1) / 1000;
    }
    return (this.highest + 1) / 1000;
  }
}

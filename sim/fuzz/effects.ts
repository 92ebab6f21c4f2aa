/**
 * Which end of each quantity makes the margin smaller, as far as the cuts so far tell: the correlation of margin and
 * quantity, and how sure it is (a main effect, as in screening experiments: Box, Hunter & Hunter, Statistics for
 * Experimenters; from memory).
 */
export class Effects {
  private count = 0;
  private readonly sums: Float64Array;
  private readonly squares: Float64Array;
  private readonly products: Float64Array;
  private margins = 0;
  private margin_squares = 0;
  /** In rising order. */
  private readonly seen: number[] = [];

  constructor(size: number) {
    this.sums = new Float64Array(size);
    this.squares = new Float64Array(size);
    this.products = new Float64Array(size);
  }

  add(values: ArrayLike<number>, cut_margin: number): void {
    const margin = this.place(cut_margin);
    this.count++;
    this.margins += margin;
    this.margin_squares += margin * margin;
    for (let at = 0; at < this.sums.length; at++) {
      const value = values[at]!;
      this.sums[at]! += value;
      this.squares[at]! += value * value;
      this.products[at]! += value * margin;
    }
  }

  /** The place of a margin among those seen, 0…1, with the small ones spread out: margins have long tails upwards. */
  private place(margin: number): number {
    const { seen } = this;
    let low = 0;
    let high = seen.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (seen[middle]! < margin) low = middle + 1;
      else high = middle;
    }
    seen.splice(low, 0, margin);
    return Math.sqrt(Math.sqrt(low / seen.length));
  }

  /** Chance with which the upper end should be drawn: ½ where nothing is known, near 1 where it is surely worse. */
  upperChance(at: number): number {
    const { count } = this;
    const spread = this.squares[at]! - this.sums[at]! ** 2 / count;
    const margin_spread = this.margin_squares - this.margins ** 2 / count;
    if (count < LEAST || !(spread > 0 && margin_spread > 0)) return 0.5;
    const joint = this.products[at]! - (this.sums[at]! * this.margins) / count;
    // About Gaussian with deviation 1 where there is no effect.
    const sure = (-joint / Math.sqrt(spread * margin_spread)) * Math.sqrt(count);
    return 0.5 + (0.5 * sure) / Math.sqrt(DOUBT * DOUBT + sure * sure);
  }
}

/** Cuts before anything is believed, and how many deviations are believed by 70 %. */
const LEAST = 12;
const DOUBT = 1.5;

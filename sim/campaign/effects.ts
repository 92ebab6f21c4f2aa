/**
 * Which end of each quantity goes with small margins, as far as the cuts so far tell: the mean of the quantity in the cuts
 * with the smallest margins against that in all cuts, and how sure the difference is.
 */
export class Effects {
  private readonly seen: { readonly values: Float64Array; readonly margin: number }[] = [];
  private readonly chances: Float64Array;

  constructor(size: number) {
    this.chances = new Float64Array(size).fill(0.5);
  }

  add(values: Float64Array, margin: number): void {
    this.seen.push({ values, margin });
    if (this.seen.length % OFTEN === 0) this.compute();
  }

  /** Chance with which the upper end should be drawn: ½ where nothing is known, near 1 where it is surely worse. */
  upperChance(at: number): number {
    return this.chances[at];
  }

  private compute(): void {
    const { seen, chances } = this;
    const count = Math.max(FEWEST, Math.floor(seen.length * SHARE));
    const least = seen.toSorted((a, b) => a.margin - b.margin).slice(0, count);
    for (let at = 0; at < chances.length; at++) {
      const all = moments(seen, at);
      const low = moments(least, at);
      const error = Math.sqrt((all.square - all.mean * all.mean) / count);
      const sure = error > 0 ? (low.mean - all.mean) / error : 0;
      chances[at] = 0.5 + (0.5 * sure) / Math.sqrt(DOUBT * DOUBT + sure * sure);
    }
  }
}

/** Cuts between two computation; share, and least number, of cuts that count as those with the smallest margins. */
const OFTEN = 16;
const SHARE = 0.1;
const FEWEST = 6;
/** So many standard errors are believed by 70 %. */
const DOUBT = 1.5;

function moments(list: readonly { readonly values: Float64Array }[], at: number) {
  let sum = 0;
  let squares = 0;
  for (const { values } of list) {
    sum += values[at];
    squares += values[at] ** 2;
  }
  return { mean: sum / list.length, square: squares / list.length };
}

import type { Random } from '../base/index.js';

/** What counts of the past at each new cut: some dozens of cuts are remembered. */
const REMEMBERED = 0.97;
/** As if each way had been tried so often, with a success, before the first cut: none is given up. */
const TRIED_BEFORE = 4;
const WON_BEFORE = 1;

/** Chooses among ways to draw the next cut: those that have led on of late, more often. */
export class Ways {
  private readonly tried: Float64Array;
  private readonly won: Float64Array;

  constructor(
    private readonly random: Random,
    count: number,
  ) {
    this.tried = new Float64Array(count);
    this.won = new Float64Array(count);
  }

  choose<Way extends number>(ways: readonly Way[]): Way {
    const chances = ways.map((way) => (this.won[way] + WON_BEFORE) / (this.tried[way] + TRIED_BEFORE));
    let left = this.random.uniform() * chances.reduce((sum, chance) => sum + chance, 0);
    const at = chances.findIndex((chance) => {
      left -= chance;
      return left < 0;
    });
    return ways[Math.max(0, at)]!;
  }

  count(way: number, won: boolean): void {
    for (let at = 0; at < this.tried.length; at++) {
      this.tried[at] *= REMEMBERED;
      this.won[at] *= REMEMBERED;
    }
    this.tried[way]++;
    if (won) this.won[way]++;
  }
}

import { Random } from '../base/index.js';
import { type Case, caseAt, unitCount } from './case.js';
import type { CaseRunner } from './case-runner.js';
import { beyondTheBox } from './judge.js';
import type { Ranges } from './ranges.js';

export interface SearchOptions {
  /** The law whose margin is driven down. */
  readonly law: string;
  /** Most cuts. */
  readonly cuts: number;
  readonly seed: number;
}

export interface SearchResult {
  readonly law: string;
  readonly cuts: number;
  /** Cut at which the law first broke, from 1; null: it did not. */
  readonly broken_at: number | null;
  /** Smallest margin that was found; null: never tested. */
  readonly margin: number | null;
  /** Its case, and the number that names its program. */
  readonly case: Case | null;
  readonly index: number;
}

/** Cases a generation, how many of them lead the next, and how many are drawn from everywhere all the same. */
const GENERATION = 40;
const LEADERS = 6;
const ANYWHERE = 8;
/** Generations without a new least margin after which the search begins anew, with the next program. */
const PATIENCE = 6;
/** Spread below which a direction is not narrowed further, and the weight of the leaders against what was before. */
const LEAST_SPREAD = 0.04;
const WEIGHT = 0.7;

/**
 * Looks for a cut that breaks a law by following its margin: the cross-entropy method (Rubinstein & Kroese, The
 * Cross-Entropy Method, 2004; from memory). Every generation is drawn around the cases with the smallest margins of the
 * one before. Random sampling misses what is rare; a margin shows the way. It cannot help with a law that says never: its
 * margin is 0 until it breaks.
 */
export function search(runner: CaseRunner, ranges: Ranges, options: SearchOptions): SearchResult {
  const random = new Random(options.seed, 0x5ea7c4);
  const size = unitCount(ranges);
  let best: { margin: number; case: Case; index: number } | undefined;
  let cuts = 0;
  for (let start = 0; cuts < options.cuts; start++) {
    const cloud = new Cloud(size);
    let least = Number.POSITIVE_INFINITY;
    for (let idle = 0; idle < PATIENCE && cuts < options.cuts; idle++) {
      const tried: Tried[] = [];
      for (let at = 0; at < GENERATION && cuts < options.cuts; at++) {
        const units = at < ANYWHERE ? cloud.anywhere(random) : cloud.draw(random);
        const one = caseAt(runner.spaceOf(start), units, random.next_u32() >>> 1);
        const margin = marginOf(runner, start, one, options.law);
        cuts++;
        tried.push({ units, margin });
        if (margin < (best?.margin ?? Number.POSITIVE_INFINITY)) best = { margin, case: one, index: start };
        if (margin < 0) return { law: options.law, cuts, broken_at: cuts, ...found(best!) };
      }
      tried.sort((a, b) => a.margin - b.margin);
      if (tried[0]!.margin < least) {
        least = tried[0]!.margin;
        idle = -1;
      }
      cloud.follow(tried.slice(0, LEADERS).filter((one) => Number.isFinite(one.margin)));
    }
  }
  return { law: options.law, cuts, broken_at: null, ...found(best) };
}

interface Tried {
  readonly units: Float64Array;
  readonly margin: number;
}

const found = (best: { margin: number; case: Case; index: number } | undefined) =>
  best ? { margin: best.margin, case: best.case, index: best.index } : { margin: null, case: null, index: 0 };

/** The signed margin of the law; endless where the case says nothing about it or no box could have kept it. */
function marginOf(runner: CaseRunner, index: number, one: Case, name: string): number {
  const law = runner.judge(index, one).laws.find((candidate) => candidate.name === name);
  if (law === undefined || law.margin === null) return Number.POSITIVE_INFINITY;
  if (name === 'no-contact' && beyondTheBox(one)) return Number.POSITIVE_INFINITY;
  return law.margin;
}

/** Where the next cases are drawn from: each direction of the unit cube by itself, around a middle with a spread. */
class Cloud {
  private readonly middle: Float64Array;
  private readonly spread: Float64Array;

  constructor(size: number) {
    this.middle = new Float64Array(size).fill(0.5);
    this.spread = new Float64Array(size).fill(0.5);
  }

  anywhere(random: Random): Float64Array {
    return this.middle.map(() => random.uniform());
  }

  /** Draws that leave the cube are folded back into it. */
  draw(random: Random): Float64Array {
    return this.middle.map((middle, at) => folded(middle + this.spread[at]! * random.gaussian()));
  }

  follow(leaders: readonly Tried[]): void {
    if (leaders.length < 2) return;
    for (let at = 0; at < this.middle.length; at++) {
      let sum = 0;
      let square = 0;
      for (const { units } of leaders) {
        sum += units[at]!;
        square += units[at]! ** 2;
      }
      const mean = sum / leaders.length;
      const spread = Math.sqrt(Math.max(0, square / leaders.length - mean * mean));
      this.middle[at] = WEIGHT * mean + (1 - WEIGHT) * this.middle[at]!;
      this.spread[at] = Math.max(LEAST_SPREAD, WEIGHT * spread + (1 - WEIGHT) * this.spread[at]!);
    }
  }
}

function folded(value: number): number {
  const wrapped = Math.abs(value) % 2;
  return wrapped > 1 ? 2 - wrapped : wrapped;
}

import { Random, TICKS_PER_S } from '../base/index.js';
import type { TraceBlock, TraceSink } from '../run/trace/index.js';
import { beyondTheBox } from './beyond.js';
import { type Case, caseAt } from './case.js';
import type { CaseRunner } from './case-runner.js';
import { Draws, type Place, type Start } from './draws.js';
import type { Ranges } from './ranges.js';

/** When the box changed mode or stage, s from power-up. */
class Moments implements TraceSink {
  readonly at_s: number[] = [];
  private before = -1;

  block({ mode, stage, count, first_tick }: TraceBlock): void {
    for (let row = 0; row < count; row++) {
      const now = mode[row] * 16 + stage[row];
      if (now !== this.before) this.at_s.push((first_tick + row) / TICKS_PER_S);
      this.before = now;
    }
  }
}

/** Weight of the past at each new cut: some dozens of cuts are remembered. */
const REMEMBERED = 0.97;
/** As if each way had been tried this often, with one success, before the first cut: none is ever given up. */
const TRIED_BEFORE = 4;
const WON_BEFORE = 1;

/** Chooses a way to draw the next cut: more often one that has recently led on. */
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

export interface SearchOptions {
  /** The requirement whose margin is driven down. */
  readonly requirement: string;
  /** Cuts, at most. */
  readonly cuts: number;
  readonly seed: number;
}

/** What a search for a broken requirement came to. */
export interface SearchResult {
  readonly requirement: string;
  readonly cuts: number;
  /** Cut that first broke the requirement, from 1; null: none did. */
  readonly broken_at: number | null;
  /** Smallest margin found; null: never tested. */
  readonly margin: number | null;
  /** Its case, and the number that chooses its program. */
  readonly case: Case | null;
  readonly index: number;
}

/** Cuts that are kept, to be varied. */
const KEPT = 12;
/** A cut that would be among this many of the best has led on. */
const FEW = 5;
/** Ways to draw the next cut. */
const DEALT = 0;
const LEANING = 1;
const NEAR = 2;
const WAYS = [DEALT, LEANING, NEAR] as const;
const FRESH_WAYS = [DEALT, LEANING] as const;

/**
 * Looks for a cut that breaks a requirement. It uses two things that random sampling does not: the margin, and the
 * moments at which the box changes mode. Cuts are drawn in three ways, each the more often the more it has led on:
 * - dealt from decks: every fault and every operator action at every such moment, each once before any comes again;
 * - leaning: every quantity at the end of its range that went with small margins so far (screening by main effects);
 * - near one of the cuts with the smallest margins, with little changed: a steady-state evolution strategy (Eiben &
 *   Smith, Introduction to Evolutionary Computing, 2003; from memory). A change that made a margin smaller is repeated.
 *
 * A cut that tests the requirement at all counts as nearer than one that does not; of equal margins the newer one
 * stays, so that the search can wander over level ground. A Gaussian around the best cuts (cross-entropy) was measured
 * first: with dozens of numbers, few of which matter, it did no better than chance.
 */
export function search(runner: CaseRunner, ranges: Ranges, options: SearchOptions): SearchResult {
  const { requirement, cuts: most, seed } = options;
  const random = new Random(seed, 0x5ea7c4);
  const draws = new Draws(random, ranges, usualMoments(runner));
  const ways = new Ways(random, WAYS.length);
  const kept: Tried[] = [];
  let best: Tried | undefined;
  let cuts = 0;
  while (cuts < most && !(best !== undefined && best.margin < 0)) {
    const way = ways.choose(kept.length > 1 ? WAYS : FRESH_WAYS);
    const start = way === NEAR ? kept[Math.floor(kept.length * random.uniform() ** 2)] : undefined;
    const place = start ? draws.near(start, kept) : way === LEANING ? draws.leaning() : draws.dealt();
    const tried = attempt(runner, place, requirement, start);
    ways.count(way, tried.margin < (kept[FEW]?.margin ?? Number.POSITIVE_INFINITY));
    cuts++;
    if (best === undefined || tried.margin < best.margin) best = tried;
    keep(kept, tried);
    draws.learn(tried, tried.margin);
  }
  const tested = best !== undefined && Number.isFinite(best.margin) ? best : undefined;
  return {
    requirement,
    cuts,
    broken_at: tested !== undefined && tested.margin < 0 ? cuts : null,
    margin: tested?.margin ?? null,
    case: tested?.case ?? null,
    index: tested?.index ?? 0,
  };
}

/** A point, with the result of its cut. */
interface Tried extends Start {
  readonly case: Case;
  /** Infinite where the case does not test the requirement, or no box could have kept it. */
  readonly margin: number;
}

function attempt(runner: CaseRunner, place: Place, name: string, start: Tried | undefined): Tried {
  const space = runner.spaceOf(place.index);
  const one = caseAt(space, place.units, place.seed);
  const watcher = new Moments();
  const { requirements, goals } = runner.judge(place.index, one, [watcher]);
  const requirement = [...requirements, ...goals].find((candidate) => candidate.name === name);
  const excused = name === 'no-contact' && beyondTheBox(runner.causesOf(one));
  const at_s = requirement?.worst_tick == null ? watcher.at_s : [...watcher.at_s, requirement.worst_tick / TICKS_PER_S];
  const margin =
    excused || requirement === undefined || requirement.margin === null ? Number.POSITIVE_INFINITY : requirement.margin;
  const nearer = start !== undefined && margin < start.margin;
  return {
    ...place,
    case: one,
    margin,
    lead: nearer ? place.units.map((unit, at) => unit - start.units[at]) : (start?.lead ?? null),
    moments: at_s.map((s) => s / space.duration_s).filter((share) => share <= 1),
  };
}

/** The moments of each program in an ordinary cut, as shares of its duration. */
function usualMoments(runner: CaseRunner): readonly (readonly number[])[] {
  return Array.from({ length: runner.programs }, (_, index) => {
    const watcher = new Moments();
    runner.judge(index, { seed: 1, values: {}, faults: [], operator: [] }, [watcher]);
    return watcher.at_s.map((at_s) => at_s / runner.spaceOf(index).duration_s).filter((share) => share <= 1);
  });
}

/** The list stays in order of margin; a new one goes before those of equal margin, and the last one drops out. */
function keep(kept: Tried[], tried: Tried): void {
  if (!Number.isFinite(tried.margin)) return;
  const at = kept.findIndex((one) => tried.margin <= one.margin);
  kept.splice(at < 0 ? kept.length : at, 0, tried);
  if (kept.length > KEPT) kept.pop();
}

/** Of several searches for one requirement, the one that came nearest; of equal ones the first. @param results at least one */
export const bestSearch = (results: readonly SearchResult[]): SearchResult =>
  results.reduce((a, b) => ((b.margin ?? Number.POSITIVE_INFINITY) < (a.margin ?? Number.POSITIVE_INFINITY) ? b : a));

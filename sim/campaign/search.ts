import { Random, TICKS_PER_S } from '../base/index.js';
import { type Case, caseAt } from './case.js';
import type { CaseRunner } from './case-runner.js';
import { Draws, type Place, type Start } from './draws.js';
import { beyondTheBox } from './judge.js';
import { Moments } from './moments.js';
import type { Ranges } from './ranges.js';
import { Ways } from './ways.js';

export interface SearchOptions {
  /** The requirement whose margin is driven down. */
  readonly requirement: string;
  /** Most cuts. */
  readonly cuts: number;
  readonly seed: number;
}

/** What a search for a broken requirement came to. */
export interface SearchResult {
  readonly requirement: string;
  readonly cuts: number;
  /** Cut at which the requirement first broke, from 1; null: it did not. */
  readonly broken_at: number | null;
  /** Smallest margin that was found; null: never tested. */
  readonly margin: number | null;
  /** Its case, and the number that names its program. */
  readonly case: Case | null;
  readonly index: number;
}

/** Cuts that are kept to be varied. */
const KEPT = 12;
/** A cut that would be among so many of the kept ones has led on. */
const FEW = 5;
/** Ways to draw the next cut. */
const DEALT = 0;
const LEANING = 1;
const NEAR = 2;
const WAYS = [DEALT, LEANING, NEAR] as const;
const FRESH_WAYS = [DEALT, LEANING] as const;

/**
 * Looks for a cut that breaks a requirement, by two things that random sampling does not use: the margin of the requirement, and the
 * moments at which the box changes its mode. Cuts are drawn in three ways, each the more often the more it has led on:
 * - dealt from decks: every fault, and every act of the operator, at every such moment, each once before any comes again;
 * - leaning: every quantity at that end of its range which has gone with small margins so far (screening by main effects);
 * - near one of the cuts with the smallest margins, with little changed: a steady-state evolution strategy (Eiben & Smith,
 *   Introduction to Evolutionary Computing, 2003; from memory). The change that made a margin smaller is tried again.
 *
 * A cut that puts the requirement to the test at all counts as nearer than one that does not; of equal margins the newer one stays,
 * so that the search can wander over level ground. A Gaussian around the best cuts (cross-entropy) was measured first: with
 * dozens of numbers, few of which matter, it did no better than chance.
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
    const start = way === NEAR ? kept[Math.floor(kept.length * random.uniform() ** 2)]! : undefined;
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

/** A place with what its cut came to. */
interface Tried extends Start {
  readonly case: Case;
  /** Endless where the case says nothing about the requirement, or no box could have kept it. */
  readonly margin: number;
}

function attempt(runner: CaseRunner, place: Place, name: string, start: Tried | undefined): Tried {
  const space = runner.spaceOf(place.index);
  const one = caseAt(space, place.units, place.seed);
  const watcher = new Moments();
  const requirement = runner
    .judge(place.index, one, [watcher])
    .requirements.find((candidate) => candidate.name === name);
  const excused = name === 'no-contact' && beyondTheBox(one);
  const at_s = requirement?.worst_tick == null ? watcher.at_s : [...watcher.at_s, requirement.worst_tick / TICKS_PER_S];
  const margin =
    excused || requirement === undefined || requirement.margin === null ? Number.POSITIVE_INFINITY : requirement.margin;
  const nearer = start !== undefined && margin < start.margin;
  return {
    ...place,
    case: one,
    margin,
    lead: nearer ? place.units.map((unit, at) => unit - start.units[at]!) : (start?.lead ?? null),
    moments: at_s.map((s) => s / space.duration_s).filter((share) => share <= 1),
  };
}

/** The moments of each program when nothing is out of the ordinary, as shares of its duration. */
function usualMoments(runner: CaseRunner): readonly (readonly number[])[] {
  return Array.from({ length: runner.programs }, (_, index) => {
    const watcher = new Moments();
    runner.judge(index, { seed: 1, values: {}, faults: [], operator: [] }, [watcher]);
    return watcher.at_s.map((at_s) => at_s / runner.spaceOf(index).duration_s).filter((share) => share <= 1);
  });
}

/** The list stays in order of margin; a newcomer comes before those of equal margin, and the last one goes. */
function keep(kept: Tried[], tried: Tried): void {
  if (!Number.isFinite(tried.margin)) return;
  const at = kept.findIndex((one) => tried.margin <= one.margin);
  kept.splice(at < 0 ? kept.length : at, 0, tried);
  if (kept.length > KEPT) kept.pop();
}

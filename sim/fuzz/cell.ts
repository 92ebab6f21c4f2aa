import type { LawResult } from '../properties/index.js';
import type { CaseRunner } from './case-runner.js';

/** What the cuts of one pair of values came to. */
export interface Cell {
  readonly cuts: number;
  /** Cuts in which every law was kept; and those that met the wishes for following as well. */
  readonly kept: number;
  readonly met: number;
  /** Smallest margin of the laws that bound where Z may be, and whose it is; of a broken law by whatever unit. */
  readonly worst_margin: number | null;
  readonly worst_law: string;
  readonly worst_unit: string;
  /** Case with that margin. */
  readonly worst_case: number | null;
  /** Standoff error that 99.9 % of the following time stays within, mm: median of the cuts; null: nothing followed. */
  readonly following_p999_mm: number | null;
}

/** Their margins are distances that differ from cut to cut; those of the others only allow for rounding, or are 0. */
export const BOUNDS: readonly string[] = ['no-contact', 'floor', 'z-dive', 'z-travel'];

/** The cell of two values that are refused, such as for a contradiction: nothing was cut. */
export const UNTRIED: Cell = {
  cuts: 0,
  kept: 0,
  met: 0,
  worst_margin: null,
  worst_law: '',
  worst_unit: '',
  worst_case: null,
  following_p999_mm: null,
};

/** Cuts the same cases in every cell, so that cells differ by their values alone (common random numbers). */
export function runCell(runner: CaseRunner, cuts: number): Cell {
  let kept = 0;
  let met = 0;
  let worst: { law: LawResult; index: number } | undefined;
  const errors: number[] = [];
  for (let index = 0; index < cuts; index++) {
    const verdict = runner.judge(index);
    const broken = verdict.laws.filter((law) => !law.kept);
    if (broken.length === 0) kept++;
    if (broken.length === 0 && verdict.wishes_met) met++;
    if (verdict.following_p999_mm !== null) errors.push(verdict.following_p999_mm);
    for (const law of verdict.laws) {
      if (law.margin === null || (law.kept && !BOUNDS.includes(law.name))) continue;
      if (worst === undefined || worse(law, worst.law)) worst = { law, index };
    }
  }
  return {
    cuts,
    kept,
    met,
    worst_margin: worst?.law.margin ?? null,
    worst_law: worst?.law.name ?? '',
    worst_unit: worst?.law.unit ?? '',
    worst_case: worst?.index ?? null,
    following_p999_mm: median(errors),
  };
}

/** A broken law is worse than any kept one. */
const worse = (one: LawResult, other: LawResult): boolean =>
  one.kept !== other.kept ? !one.kept : one.margin! < other.margin!;

function median(values: number[]): number | null {
  if (values.length === 0) return null;
  values.sort((a, b) => a - b);
  const middle = Math.floor(values.length / 2);
  return values.length % 2 === 1 ? values[middle]! : (values[middle - 1]! + values[middle]!) / 2;
}

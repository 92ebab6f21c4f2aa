import type { RequirementResult } from '../judge/index.js';
import type { CaseRunner } from './case-runner.js';

/** What the cuts of one pair of values came to. */
export interface Cell {
  readonly cuts: number;
  /** Cuts in which every requirement was kept; and those that met the quality goals for following as well. */
  readonly kept: number;
  readonly goals_met: number;
  /** Smallest margin of the requirements that bound where Z may be, and whose it is; of a broken requirement by whatever unit. */
  readonly worst_margin: number | null;
  readonly worst_requirement: string;
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
  goals_met: 0,
  worst_margin: null,
  worst_requirement: '',
  worst_unit: '',
  worst_case: null,
  following_p999_mm: null,
};

/** Cuts the same cases in every cell, so that cells differ by their values alone (common random numbers). */
export function runCell(runner: CaseRunner, cuts: number): Cell {
  let kept = 0;
  let goals_met = 0;
  let worst: { requirement: RequirementResult; index: number } | undefined;
  const errors: number[] = [];
  for (let index = 0; index < cuts; index++) {
    const verdict = runner.judge(index);
    const broken = verdict.requirements.filter((requirement) => !requirement.kept);
    if (broken.length === 0) kept++;
    if (broken.length === 0 && verdict.goals_met) goals_met++;
    if (verdict.following_p999_mm !== null) errors.push(verdict.following_p999_mm);
    for (const requirement of verdict.requirements) {
      if (requirement.margin === null || (requirement.kept && !BOUNDS.includes(requirement.name))) continue;
      if (worst === undefined || worse(requirement, worst.requirement)) worst = { requirement, index };
    }
  }
  return {
    cuts,
    kept,
    goals_met,
    worst_margin: worst?.requirement.margin ?? null,
    worst_requirement: worst?.requirement.name ?? '',
    worst_unit: worst?.requirement.unit ?? '',
    worst_case: worst?.index ?? null,
    following_p999_mm: median(errors),
  };
}

/** A broken requirement is worse than any kept one. */
const worse = (one: RequirementResult, other: RequirementResult): boolean =>
  one.kept !== other.kept ? !one.kept : one.margin! < other.margin!;

function median(values: number[]): number | null {
  if (values.length === 0) return null;
  values.sort((a, b) => a - b);
  const middle = Math.floor(values.length / 2);
  return values.length % 2 === 1 ? values[middle]! : (values[middle - 1]! + values[middle]!) / 2;
}

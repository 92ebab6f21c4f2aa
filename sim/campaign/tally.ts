import { z } from 'zod';
import type { RequirementResult, RunFigures, RunStop } from '../judge/index.js';
import type { Setup } from '../run/setup/index.js';
import { beyondTheBox } from './beyond.js';
import type { Case } from './case.js';
import {
  addFinished,
  addQuality,
  emptyQuality,
  finishedSchema,
  joinFinished,
  joinQuality,
  type QualityFigure,
  qualitySchema,
} from './quality.js';

const count = z.number().int().min(0);

const requirementTallySchema = z.strictObject({
  statement: z.string(),
  unit: z.string(),
  /** Cases that tested the requirement. */
  tested: count,
  broken: count,
  /** Cases that broke it where no box could have kept it; not counted in `broken`. */
  beyond: count,
  /** Smallest margin of the cases that count, and its case; null: never tested. */
  worst_margin: z.number().nullable(),
  worst_case: count.nullable(),
  /** The first case, by number, that broke it. */
  first_broken: count.nullable(),
});

/** What the cases so far say about one requirement. */
export type RequirementTally = z.infer<typeof requirementTallySchema>;

/** The form of a tally in a file. */
export const tallySchema = z.strictObject({
  cases: count,
  ticks: count,
  /** Cuts whose program came to its end without a fault of the box, and the others. */
  ended: z.strictObject({ finished: count, stopped: count }),
  /** The others by who stopped them and why: `box arc-lost`, `operator key`. */
  stops: z.record(z.string(), count),
  /** How often the box raised each fault. */
  faults: z.record(z.string(), count),
  requirements: z.record(z.string(), requirementTallySchema),
  /** Cases in which contact says nothing about the box. */
  excused: count,
  finished: finishedSchema,
  quality: qualitySchema,
});

/** What the cases so far say. Tallies added in any order give the same sum. */
export type Tally = z.infer<typeof tallySchema>;

export const emptyTally = (): Tally => ({
  cases: 0,
  ticks: 0,
  ended: { finished: 0, stopped: 0 },
  stops: {},
  faults: {},
  requirements: {},
  excused: 0,
  finished: {},
  quality: emptyQuality(),
});

/**
 * Requirements whose margins are distances that differ from cut to cut; those of the others only allow for rounding.
 */
export const BOUNDS: readonly string[] = ['no-contact', 'floor', 'z-dive', 'z-travel'];

/** How a case went. */
export interface Verdict {
  readonly requirements: readonly RequirementResult[];
  /** Quality goals, and what the box is yet to learn. */
  readonly goals: readonly RequirementResult[];
  readonly figures: Pick<RunFigures, QualityFigure>;
  /** Who stopped it, why and where; null: it came to its end. */
  readonly stop: Pick<RunStop, 'by' | 'cause'> | null;
  /** Names of the faults that the box raised. */
  readonly faults: readonly string[];
  readonly ticks: number;
  /** The quality goals for following were met, as far as the cut tested them. */
  readonly goals_met: boolean;
  /** Standoff error not exceeded for 99.9 % of the following time, mm; null: nothing was followed. */
  readonly following_p999_mm: number | null;
}

/**
 * Takes one case into the tally.
 * @param setup that of the case, with its values and faults
 */
export function addCase(tally: Tally, index: number, one: Case, setup: Setup, verdict: Verdict): void {
  tally.cases++;
  tally.ticks += verdict.ticks;
  addStop(tally, verdict.stop);
  for (const name of verdict.faults) tally.faults[name] = (tally.faults[name] ?? 0) + 1;
  const sound = one.faults.length === 0 && one.operator.length === 0;
  addQuality(tally.quality, index, sound, verdict.goals, verdict.figures);
  if (sound) addFinished(tally.finished, setup.world, verdict.stop === null, verdict.faults);
  const excused = beyondTheBox({ ...setup, operator: one.operator });
  if (excused) tally.excused++;
  for (const requirement of verdict.requirements) {
    const sum = requirementTally(tally, requirement.name, requirement);
    const { margin, kept } = requirement;
    // Where no box could have kept it, a case says nothing about this one.
    if (excused && requirement.name === 'no-contact') {
      if (!kept) sum.beyond++;
      continue;
    }
    if (margin === null) continue;
    sum.tested++;
    keepWorst(sum, margin, index);
    if (kept) continue;
    sum.broken++;
    sum.first_broken = least(sum.first_broken, index);
  }
}

function addStop(tally: Tally, stop: Verdict['stop']): void {
  if (stop === null) {
    tally.ended.finished++;
    return;
  }
  tally.ended.stopped++;
  const key = `${stop.by} ${stop.cause}`;
  tally.stops[key] = (tally.stops[key] ?? 0) + 1;
}

type Stated = Pick<RequirementTally, 'statement' | 'unit'>;

function requirementTally(tally: Tally, name: string, { statement, unit }: Stated): RequirementTally {
  const none = { worst_margin: null, worst_case: null, first_broken: null };
  tally.requirements[name] ??= { statement, unit, tested: 0, broken: 0, beyond: 0, ...none };
  return tally.requirements[name];
}

/** Of equal margins the lowest case number stays, so that the order of adding does not matter. */
function keepWorst(tally: RequirementTally, margin: number, index: number): void {
  const { worst_margin, worst_case } = tally;
  if (worst_margin !== null && (margin > worst_margin || (margin === worst_margin && index >= worst_case!))) return;
  tally.worst_margin = margin;
  tally.worst_case = index;
}

const least = (one: number | null, other: number | null) =>
  one === null ? other : other === null ? one : Math.min(one, other);

/** Adds one tally to another. */
export function addTally(sum: Tally, part: Tally): void {
  sum.cases += part.cases;
  sum.ticks += part.ticks;
  for (const end of ['finished', 'stopped'] as const) sum.ended[end] += part.ended[end];
  for (const [key, cuts] of Object.entries(part.stops)) sum.stops[key] = (sum.stops[key] ?? 0) + cuts;
  for (const [name, count] of Object.entries(part.faults)) sum.faults[name] = (sum.faults[name] ?? 0) + count;
  for (const [name, requirement] of Object.entries(part.requirements)) {
    const before = requirementTally(sum, name, requirement);
    before.tested += requirement.tested;
    before.broken += requirement.broken;
    before.beyond += requirement.beyond;
    if (requirement.worst_margin !== null) keepWorst(before, requirement.worst_margin, requirement.worst_case!);
    before.first_broken = least(before.first_broken, requirement.first_broken);
  }
  sum.excused += part.excused;
  joinFinished(sum.finished, part.finished);
  joinQuality(sum.quality, part.quality);
}

/**
 * With no failure in n independent cases, the chance of a failure is below this, at 95 % confidence: 1 − 0.05^(1/n),
 * about 3/n (the rule of three). It holds for the ranges that were drawn from, and for nothing else.
 */
export const chanceBound = (cases: number): number => (cases > 0 ? 1 - 0.05 ** (1 / cases) : 1);

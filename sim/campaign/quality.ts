// Quality beside the requirements, as plain numbers that shards add up: kept apart from the requirements' tally, which decides.
import { z } from 'zod';
import type { RequirementResult, RunFigures } from '../judge/index.js';
import type { WorldConfig } from '../world/plant/index.js';

const count = z.number().int().min(0);

/** Figures of a cut that a campaign spreads out; mm. */
export const QUALITY_FIGURES = [
  'standoff_error_mean_mm',
  'standoff_error_rms_mm',
  'corner_dive_mm',
  'kerf_crossing_dive_mm',
] as const satisfies readonly (keyof RunFigures)[];
/** One of those figures. */
export type QualityFigure = (typeof QUALITY_FIGURES)[number];

/** Width of a bin, mm: a share of the cuts is known to that. */
const BIN_MM = 0.01;

const spreadSchema = z.strictObject({
  cuts: count,
  /** Cuts by the amount of the figure, in bins of 0.01 mm. */
  bins: z.record(z.string(), count),
  /** The largest by amount, with its sign, mm, and its case. */
  worst_mm: z.number().nullable(),
  worst_case: count.nullable(),
});

/** How a figure of the cuts is spread. */
export type Spread = z.infer<typeof spreadSchema>;

const goalSchema = z.strictObject({
  statement: z.string(),
  unit: z.string(),
  tested: count,
  missed: count,
  worst_margin: z.number().nullable(),
  worst_case: count.nullable(),
});

export type GoalTally = z.infer<typeof goalSchema>;

/** The form of it in a file. */
export const qualitySchema = z.strictObject({
  goals: z.record(z.string(), goalSchema),
  figures: z.record(z.enum(QUALITY_FIGURES), spreadSchema),
});

/** What the cuts so far say of quality. */
export type Quality = z.infer<typeof qualitySchema>;

const emptySpread = (): Spread => ({ cuts: 0, bins: {}, worst_mm: null, worst_case: null });

export const emptyQuality = (): Quality => ({
  goals: {},
  figures: Object.fromEntries(QUALITY_FIGURES.map((name) => [name, emptySpread()])) as Quality['figures'],
});

/**
 * Takes one case in.
 * @param sound false for a case with a fault or an operator in it: what becomes of the cut then is no quality of the box, but
 * for the goals with a number, which are requirements to be
 */
export function addQuality(
  quality: Quality,
  index: number,
  sound: boolean,
  goals: readonly RequirementResult[],
  figures: Pick<RunFigures, QualityFigure>,
): void {
  for (const { name, number, statement, unit, margin, kept } of goals) {
    if (margin === null || !(sound || number > 0)) continue;
    const sum = goalTally(quality, name, statement, unit);
    sum.tested++;
    if (!kept) sum.missed++;
    if (isWorse(-margin, index, sum.worst_margin === null ? null : -sum.worst_margin, sum.worst_case)) {
      sum.worst_margin = margin;
      sum.worst_case = index;
    }
  }
  if (!sound) return;
  for (const name of QUALITY_FIGURES) {
    const value_mm = figures[name];
    if (value_mm !== null) addFigure(quality.figures[name], value_mm, index);
  }
}

function goalTally(quality: Quality, name: string, statement: string, unit: string): GoalTally {
  quality.goals[name] ??= { statement, unit, tested: 0, missed: 0, worst_margin: null, worst_case: null };
  return quality.goals[name];
}

function addFigure(spread: Spread, value_mm: number, index: number): void {
  spread.cuts++;
  const bin = String(Math.floor(Math.abs(value_mm) / BIN_MM));
  spread.bins[bin] = (spread.bins[bin] ?? 0) + 1;
  keepWorst(spread, value_mm, index);
}

function keepWorst(spread: Spread, value_mm: number, index: number): void {
  const before_mm = spread.worst_mm === null ? null : Math.abs(spread.worst_mm);
  if (!isWorse(Math.abs(value_mm), index, before_mm, spread.worst_case)) return;
  spread.worst_mm = value_mm;
  spread.worst_case = index;
}

/** Of equal ones the lowest case number stays, so that the order of adding does not matter. */
const isWorse = (value: number, index: number, before: number | null, before_index: number | null) =>
  before === null || value > before || (value === before && index < before_index!);

/** Adds what other cases say. */
export function joinQuality(sum: Quality, part: Quality): void {
  for (const [name, goal] of Object.entries(part.goals)) {
    const before = goalTally(sum, name, goal.statement, goal.unit);
    before.tested += goal.tested;
    before.missed += goal.missed;
    const { worst_margin, worst_case } = goal;
    if (worst_margin === null) continue;
    const known = before.worst_margin === null ? null : -before.worst_margin;
    if (isWorse(-worst_margin, worst_case!, known, before.worst_case))
      Object.assign(before, { worst_margin, worst_case });
  }
  for (const name of QUALITY_FIGURES) {
    const spread = sum.figures[name];
    const other = part.figures[name];
    spread.cuts += other.cuts;
    for (const [bin, cuts] of Object.entries(other.bins)) spread.bins[bin] = (spread.bins[bin] ?? 0) + cuts;
    if (other.worst_mm !== null) keepWorst(spread, other.worst_mm, other.worst_case!);
  }
}

/**
 * The amount that this share of the cuts does not exceed, mm: the upper end of its bin, never above the worst.
 * @param share above 0, at most 1 @returns null without a cut
 */
export function quantileOf({ cuts, bins, worst_mm }: Spread, share: number): number | null {
  if (cuts === 0) return null;
  let seen = 0;
  for (const bin of Object.keys(bins)
    .map(Number)
    .sort((a, b) => a - b)) {
    seen += bins[bin];
    if (seen >= share * cuts) return Math.min((bin + 1) * BIN_MM, Math.abs(worst_mm!));
  }
  return Math.abs(worst_mm!);
}

/** The same content in an order of its own, for a file that does not depend on the order of the cases. */
export function sortedQuality({ goals, figures }: Quality): Quality {
  const byName = Object.fromEntries(Object.entries(goals).sort(([a], [b]) => (a < b ? -1 : 1)));
  return { goals: byName, figures };
}

// How many sound cuts came to their end, by what makes an arc hard to prove: a strike that the box refuses is no broken
// requirement, but the part is not cut.

const bandSchema = z.strictObject({
  /** Without a fault and without an operator's action. */
  cuts: count,
  unfinished: count,
  /** Those of them that ended with an arc that was not proved. */
  refused: count,
});

/** By the ends of its band: `2-3 V/mm, 0.4-0.8 V`. */
export const finishedSchema = z.record(z.string(), bandSchema);
/** How many sound cuts of each band came to their end. */
export type Finished = z.infer<typeof finishedSchema>;

/** Ends of the bands: slope of the arc, V/mm; white noise, V rms a tick. The last ones have no upper end. */
const SLOPE_ENDS = [0, 3, 4, 6];
const NOISE_ENDS = [0, 0.4, 0.8];
/** Faults by which the box refuses a strike. */
const REFUSALS: readonly string[] = ['no-arc', 'no-response'];

const bandText = (ends: readonly number[], at: number) =>
  at + 1 < ends.length ? `${ends[at]}-${ends[at + 1]}` : `${ends[at]}-`;
const bandOf = (ends: readonly number[], value: number) =>
  bandText(
    ends,
    ends.findLastIndex((end) => value >= end),
  );
const keyOf = (slope: string, noise: string) => `${slope} V/mm, ${noise} V`;

/** Takes one sound cut in. */
export function addFinished(
  finished: Finished,
  { arc, noise }: WorldConfig,
  ended: boolean,
  faults: readonly string[],
): void {
  const key = keyOf(bandOf(SLOPE_ENDS, arc.slope_V_per_mm), bandOf(NOISE_ENDS, noise.white_V_rms_per_tick));
  const band = bandIn(finished, key);
  band.cuts++;
  if (ended) return;
  band.unfinished++;
  if (faults.some((name) => REFUSALS.includes(name))) band.refused++;
}

function bandIn(finished: Finished, key: string) {
  finished[key] ??= { cuts: 0, unfinished: 0, refused: 0 };
  return finished[key];
}

export function joinFinished(sum: Finished, part: Finished): void {
  for (const [key, { cuts, unfinished, refused }] of Object.entries(part)) {
    const band = bandIn(sum, key);
    band.cuts += cuts;
    band.unfinished += unfinished;
    band.refused += refused;
  }
}

/** All cuts together. */
export function finishedTotal(finished: Finished) {
  const total: Finished = {};
  for (const band of Object.values(finished)) joinFinished(total, { all: band });
  return bandIn(total, 'all');
}

/** Rows by slope, columns by noise: `refused of cuts`, empty where nothing was cut. */
export function finishedTable(finished: Finished) {
  const noises = NOISE_ENDS.map((_, at) => bandText(NOISE_ENDS, at));
  const rows = SLOPE_ENDS.map((_, at) => bandText(SLOPE_ENDS, at)).map((slope) => [
    slope,
    ...noises.map((noise) => {
      const band = finished[keyOf(slope, noise)];
      return band === undefined ? '' : `${band.refused} of ${band.cuts}`;
    }),
  ]);
  return { noises, rows };
}

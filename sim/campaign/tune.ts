import { z } from 'zod';
import { StandoffError } from '../base/index.js';
import { firstContradiction } from '../run/setup/index.js';
import { type WorkerPool, workerPool } from './campaign.js';
import type { Campaign } from './case-runner.js';
import { boxParameter, CAUSES, withoutCause } from './ranges.js';
import {
  type Comparison,
  compare,
  comparisonSchema,
  scoreOf,
  summaryOf,
  type TrialCut,
  type TrialTask,
  trialSummarySchema,
} from './trial.js';

/** A parameter to tune, with the limits of a proposal and those of the box. */
export interface TuneParameter {
  readonly name: string;
  readonly unit: string;
  readonly present: number;
  readonly low: number;
  readonly high: number;
  readonly least: number;
  readonly most: number;
}

/** The finest step: a neighbour lies a fifth lower or a quarter higher. */
const STEP = 1.25;
/** The first step is two of them. */
const STRIDES = [2, 1];
/** Without a range a proposal stays within four times the present value, up and down. */
const FARTHEST = 4;
const MOST_PARAMETERS = 4;
/** Sets of values that the search tries at most. */
const MOST_POINTS = 24;
/** A change of the score below this is none. */
const LEAST_CHANGE = 0.005;
/** Cuts that a thread makes before it tells of them. */
const MOST_AT_ONCE = 32;
/** A proposal has room where each neighbour holds the standoff at most this many times worse. */
const MUCH_WORSE = 1.25;

/**
 * @param words of each `name` or `name=low:high`
 * @throws StandoffError `tune-unknown`, `tune-elsewhere`, `tune-range`, `tune-whole`, `tune-same`, `tune-many`
 */
export function tuneParameters(words: readonly string[], { setup }: Campaign): TuneParameter[] {
  const found = words.map((word) => {
    const { name, row, present, low, high } = boxParameter(word, setup, 'tune', FARTHEST);
    if (row.integer) {
      throw new StandoffError(
        'tune-whole',
        `${name} takes whole numbers only`,
        'compare two of them with standoff map',
      );
    }
    if (present <= 0 || low <= 0 || present < low || present > high) {
      const what = `${name} is ${present}, to be tried from ${low} to ${high}: steps are factors of the present value`;
      throw new StandoffError('tune-range', what, `give a range above 0 that holds it, or --set ${name} first`);
    }
    return { name, unit: row.unit, present, low, high, least: row.min, most: row.max };
  });
  const names = found.map(({ name }) => name);
  const twice = names.find((name, at) => names.indexOf(name) < at);
  if (twice !== undefined) throw new StandoffError('tune-same', `${twice} is named twice`, 'name each once');
  if (names.length > MOST_PARAMETERS) {
    throw new StandoffError('tune-many', `${names.length} parameters at once`, `name at most ${MOST_PARAMETERS}`);
  }
  return found;
}

/** Steps of each parameter from its present value, as powers of STEP. */
type Point = readonly number[];

const steppedValue = ({ present }: TuneParameter, steps: number): number =>
  steps === 0 ? present : Number((present * STEP ** steps).toPrecision(3));

/**
 * Searches by coordinates: every neighbour is tried, then all that helped at once; the stride shrinks where none helps.
 * @param scores of points in a batch; below 0 is better than the start @returns the best point, and how many had a score
 */
export async function compass(
  dimensions: number,
  scores: (points: readonly Point[]) => Promise<readonly number[]>,
): Promise<{ readonly best: Point; readonly points: number }> {
  const known = new Map<string, number>();
  const scored = (point: Point) => known.get(String(point)) ?? Infinity;
  const look = async (points: readonly Point[]) => {
    const fresh = points.filter((point) => !known.has(String(point))).slice(0, MOST_POINTS - known.size);
    const found = await scores(fresh);
    for (const [at, point] of fresh.entries()) known.set(String(point), found[at]);
  };
  let centre: Point = new Array<number>(dimensions).fill(0);
  known.set(String(centre), 0);
  for (const stride of STRIDES) {
    for (let moved = true; moved && known.size < MOST_POINTS; ) {
      const around = neighboursOf(centre, stride);
      await look(around);
      const bar = scored(centre) - LEAST_CHANGE;
      const helped = around.filter((point) => scored(point) < bar);
      const joint = centre.map((steps, axis) => {
        const tried = around.filter((point) => point[axis] !== steps && scored(point) < bar);
        return tried.sort((a, b) => scored(a) - scored(b))[0]?.[axis] ?? steps;
      });
      if (helped.length > 1) await look([joint]);
      const [best] = [...helped, joint].sort((a, b) => scored(a) - scored(b));
      moved = scored(best) < bar;
      if (moved) centre = best;
    }
  }
  return { best: centre, points: [...known.values()].filter(Number.isFinite).length };
}

const neighboursOf = (point: Point, stride: number): Point[] =>
  point.flatMap((_, axis) => [-stride, stride].map((by) => point.with(axis, point[axis] + by)));

const neighbourSchema = z.strictObject({
  name: z.string(),
  value: z.number(),
  lacks: z
    .enum(['limit', 'refused', 'broken', 'stops', 'error', 'goals'])
    .nullable()
    .meta({ description: 'why there is no room on this side; null: there is' }),
  ratio: z.number().nullable().meta({ description: 'error there over that of the values found; null: too few cuts' }),
});

/** The values found with one of them a fifth lower or a quarter higher, and whether it may lie there. */
export type TuneNeighbour = z.infer<typeof neighbourSchema>;

const CONCLUSIONS = ['broken', 'few-finished', 'nothing-better', 'worse', 'chance', 'no-room', 'proposed'] as const;
/** Why values are proposed, or none: the first that holds. */
export type TuneConclusion = (typeof CONCLUSIONS)[number];

const tuningSchema = z.strictObject({
  conclusion: z.enum(CONCLUSIONS),
  parameters: z.array(z.strictObject({ name: z.string(), unit: z.string(), present: z.number(), found: z.number() })),
  points: z.number().int().meta({ description: 'sets of values that were tried' }),
  search_cuts: z.number().int().meta({ description: 'cuts that each of them was tried on; what follows is of others' }),
  present: trialSummarySchema,
  found: trialSummarySchema,
  comparison: comparisonSchema,
  neighbours: z.array(neighbourSchema),
  causes: z.array(z.strictObject({ name: z.string(), comparison: comparisonSchema })).meta({
    description:
      'what the cuts gain with a cause taken out of the worlds, with the values proposed or the present ones',
  }),
});

/** What a tuning came to. */
export type Tuning = z.infer<typeof tuningSchema>;

/** The JSON Schema of what `standoff tune --json` prints. */
export const tuneJsonSchema = (): object =>
  z.toJSONSchema(
    z.strictObject({
      format: z.literal(TUNE_FORMAT),
      module_sha256: z.string(),
      program: z.string(),
      seed: z.number().int(),
      ...tuningSchema.shape,
    }),
  );
/** What such JSON says of its own form. */
export const TUNE_FORMAT = 'standoff tune 1';

/** What is tuned, and how. */
export interface TuneOptions {
  readonly campaign: Campaign;
  readonly parameters: readonly TuneParameter[];
  /** Cuts of the comparison; the search has half as many others. */
  readonly cuts: number;
  readonly workers: number;
  readonly signal: AbortSignal;
  /** Cuts done, and cuts at most. */
  readonly onProgress: (done: number, most: number) => void;
}

/** Cuts on several threads; the same cuts with every set of values, so that sets differ by their values alone. */
class Trials {
  private done = 0;
  private readonly pool: WorkerPool<TrialTask, TrialCut[]>;

  constructor(
    private readonly options: TuneOptions,
    private readonly most: number,
  ) {
    this.pool = workerPool<TrialTask, TrialCut[]>(options.workers);
    options.signal.addEventListener('abort', this.end, { once: true });
  }

  async cut(campaign: Campaign, [from, to]: readonly [number, number]): Promise<TrialCut[]> {
    const { workers, onProgress } = this.options;
    const share = Math.min(MOST_AT_ONCE, Math.ceil((to - from) / workers));
    const starts = Array.from({ length: Math.ceil((to - from) / share) }, (_, at) => from + at * share);
    const parts = await Promise.all(
      starts.map(async (start) => {
        const end = Math.min(to, start + share);
        const part = await this.pool.run({ campaign, trial: [start, end] });
        this.done += end - start;
        onProgress(this.done, this.most);
        return part;
      }),
    );
    return parts.flat();
  }

  /** What is under way is dropped. */
  readonly end = () => this.pool.end();
}

/**
 * Searches for better values on some cuts, and compares what it found with the present values on others, so that luck in the search
 * does not count. It depends on the campaign, the parameters and the number of cuts alone.
 * @throws what a worker throws, and once `signal` has broken it off
 */
export async function runTune(options: TuneOptions): Promise<Tuning> {
  const { parameters, cuts } = options;
  const tuned = parameters.map(({ name }) => `box.${name}`);
  const { ranges: all, ...rest } = options.campaign;
  // What is tuned is not drawn.
  const ranges = { ...all, numbers: all.numbers.filter(({ path }) => !tuned.includes(path)) };
  const campaign = { ...rest, ranges };
  const drawn = (one: (typeof CAUSES)[number]) =>
    Object.keys(one.values(campaign.setup.box)).some((path) => ranges.numbers.some((range) => range.path === path));
  const causes = CAUSES.filter(drawn);
  const search_cuts = Math.ceil(cuts / 2);
  const fresh = [search_cuts, search_cuts + cuts] as const;
  const near = [search_cuts, search_cuts + search_cuts] as const;
  const most = (MOST_POINTS + 2 * parameters.length) * search_cuts + (2 + causes.length) * cuts;
  const trials = new Trials(options, most);
  const withPoint = (point: Point): Campaign => {
    const values = parameters.map((parameter, axis) => [parameter.name, steppedValue(parameter, point[axis])] as const);
    return { ...campaign, setup: { ...campaign.setup, box: { ...campaign.setup.box, ...Object.fromEntries(values) } } };
  };
  try {
    const before = await trials.cut(campaign, [0, search_cuts]);
    const score = async (point: Point): Promise<number> => {
      const outside = parameters.some((one, axis) => {
        const value = steppedValue(one, point[axis]);
        return value < one.low || value > one.high;
      });
      const tried = withPoint(point);
      if (outside || firstContradiction(tried.setup.box)) return Infinity;
      return scoreOf(before, await trials.cut(tried, [0, search_cuts]), campaign.setup.box.cut_height_mm);
    };
    const { best, points } = await compass(parameters.length, (batch) => Promise.all(batch.map(score)));
    const moved = best.some((steps) => steps !== 0);
    const found = withPoint(best);
    const present = await trials.cut(campaign, fresh);
    const after = moved ? await trials.cut(found, fresh) : present;
    const neighbours = moved
      ? await Promise.all(
          neighboursOf(best, 1).map((point) =>
            neighbour(parameters, best, point, async () => {
              const tried = withPoint(point);
              if (firstContradiction(tried.setup.box)) return undefined;
              return { from: after.slice(0, search_cuts), to: await trials.cut(tried, near) };
            }),
          ),
        )
      : [];
    const comparison = compare(present, after);
    const gained = -scoreOf(present, after, campaign.setup.box.cut_height_mm);
    const conclusion = conclude(moved ? gained : null, after, comparison, neighbours);
    const last = conclusion === 'proposed' ? { campaign: found, cuts: after } : { campaign, cuts: present };
    const without = causes.map(async (cause) => {
      const { setup } = last.campaign;
      const changed = { ...last.campaign, ranges: withoutCause(ranges, cause, setup.box) };
      const comparison = compare(last.cuts, await trials.cut(changed, fresh), causes.length);
      return { name: cause.name, comparison };
    });
    return {
      conclusion,
      parameters: parameters.map((one, axis) => {
        const { name, unit, present } = one;
        return { name, unit, present, found: steppedValue(one, best[axis]) };
      }),
      points,
      search_cuts,
      present: summaryOf(present, search_cuts),
      found: summaryOf(after, search_cuts),
      comparison,
      neighbours,
      causes: await Promise.all(without),
    };
  } finally {
    await trials.end();
  }
}

/** @param cut cuts the values found and the neighbour over the same worlds; undefined: the box refuses the neighbour */
async function neighbour(
  parameters: readonly TuneParameter[],
  best: Point,
  point: Point,
  cut: () => Promise<{ from: readonly TrialCut[]; to: readonly TrialCut[] } | undefined>,
): Promise<TuneNeighbour> {
  const axis = point.findIndex((steps, at) => steps !== best[at]);
  const { name, least, most } = parameters[axis];
  const value = steppedValue(parameters[axis], point[axis]);
  if (value < least || value > most) return { name, value, lacks: 'limit', ratio: null };
  const cuts = await cut();
  if (cuts === undefined) return { name, value, lacks: 'refused', ratio: null };
  return { name, value, ...roomAt(cuts.from, cuts.to) };
}

/** Whether values hold what those beside them hold. @param from of the values found @param to of the neighbour, over the same cuts */
export function roomAt(from: readonly TrialCut[], to: readonly TrialCut[]): Pick<TuneNeighbour, 'lacks' | 'ratio'> {
  const { error_mm, finished } = compare(from, to);
  const ratio = error_mm && error_mm.after / error_mm.before;
  const keeps = (cuts: readonly TrialCut[]) => 2 * cuts.filter(({ goals_met }) => goals_met).length >= cuts.length;
  if (to.some(({ broken }) => broken.length > 0)) return { lacks: 'broken', ratio };
  if (finished.verdict === 'worse') return { lacks: 'stops', ratio };
  if (ratio !== null && ratio > MUCH_WORSE) return { lacks: 'error', ratio };
  return { lacks: keeps(from) && !keeps(to) ? 'goals' : null, ratio };
}

/**
 * What may be said of the values found. @param gained by the score of the search, over the other cuts; null: they are the present
 * values
 */
export function conclude(
  gained: number | null,
  found: readonly TrialCut[],
  { error_mm, least_standoff_mm, finished }: Comparison,
  neighbours: readonly TuneNeighbour[],
): TuneConclusion {
  if (found.some(({ broken }) => broken.length > 0)) return 'broken';
  if (error_mm === null && finished.verdict !== 'better') return 'few-finished';
  if (gained === null) return 'nothing-better';
  const verdicts = [error_mm, least_standoff_mm, finished].map((one) => one?.verdict);
  if (verdicts.includes('worse')) return 'worse';
  if (!verdicts.includes('better') || gained < LEAST_CHANGE) return 'chance';
  return neighbours.some(({ lacks }) => lacks !== null) ? 'no-room' : 'proposed';
}

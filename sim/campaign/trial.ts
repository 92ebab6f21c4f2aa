import { z } from 'zod';
import { Random } from '../base/index.js';
import type { Campaign, CaseRunner } from './case-runner.js';

/** What one cut says of the values in the box. */
export interface TrialCut {
  /** What stopped it before its end, such as `wrong-way`; null: it came to its end. */
  readonly stop: string | null;
  /** Requirements that it broke; contact is one of them. */
  readonly broken: readonly string[];
  /** Rms of the standoff error in its worst contour, mm; null: nothing was followed. */
  readonly error_mm: number | null;
  readonly least_standoff_mm: number | null;
  /** It finished and met the quality goals for following. */
  readonly goals_met: boolean;
}

/** Cuts `trial[0]` (inclusive) to `trial[1]` (exclusive) of a campaign, for one thread. */
export interface TrialTask {
  readonly campaign: Campaign;
  readonly trial: readonly [number, number];
}

export const runTrial = (runner: CaseRunner, [from, to]: TrialTask['trial']): TrialCut[] =>
  Array.from({ length: to - from }, (_, at) => {
    const { requirements, figures, stop, goals_met } = runner.judge(from + at);
    const broken = requirements.filter(({ kept }) => !kept).map(({ name }) => name);
    const errors = figures.contours.flatMap(({ standoff_error_rms_mm: mm }) => (mm === null ? [] : [mm]));
    return {
      stop: stop?.cause ?? null,
      broken,
      error_mm: errors.length > 0 ? Math.max(...errors) : null,
      least_standoff_mm: figures.least_standoff_mm,
      goals_met: goals_met && stop === null && broken.length === 0,
    };
  });

const count = z.number().int().min(0);
const differenceSchema = z.strictObject({
  before: z.number(),
  after: z.number(),
  low: z.number().meta({ description: 'lower end of the interval of after minus before' }),
  high: z.number().meta({ description: 'its upper end' }),
  verdict: z
    .enum(['better', 'worse', 'chance'])
    .meta({ description: 'chance: the interval holds 0, or sides exchanged by lot differ as much too often' }),
});

/** A figure with one set of values and with another, over the same cuts. */
export type Difference = z.infer<typeof differenceSchema>;

/** Its form as JSON. */
export const comparisonSchema = z.strictObject({
  error_mm: differenceSchema.nullable().meta({
    description:
      'rms in the worst contour, mean of the worst quarter of the cuts that finished with both; null: too few',
  }),
  least_standoff_mm: differenceSchema.nullable().meta({
    description: 'least standoff, mean of the least quarter of those cuts; null: too few',
  }),
  finished: differenceSchema.meta({ description: 'share of all cuts that finished, 0 to 1' }),
});

/** Two sets of values over the same cuts. */
export type Comparison = z.infer<typeof comparisonSchema>;

const FEWEST_PAIRS = 12;
const RESAMPLES = 2000;
const BOOTSTRAP_STREAM = 0x70616972;
/** The three figures of a comparison are right together with this confidence. */
const CONFIDENCE = 0.95;

type Pair = readonly [before: number, after: number];

/** Mean of the greatest quarter. */
function worstQuarter(values: readonly number[]): number {
  const count = Math.ceil(values.length / 4);
  const worst = values.toSorted((a, b) => b - a).slice(0, count);
  return worst.reduce((sum, value) => sum + value, 0) / count;
}
const leastQuarter = (values: readonly number[]) => -worstQuarter(values.map((value) => -value));
const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;

/**
 * The interval is a percentile bootstrap over the pairs. Beyond chance is only what an exchange of the sides of random pairs hardly
 * ever shows as well: in a small tail the interval alone is too narrow. @param sign 1: more is better; -1: less is
 */
function difference(pairs: readonly Pair[], figure: typeof mean, sign: 1 | -1, doubt: number): Difference {
  const of = (list: readonly Pair[], side: 0 | 1) => figure(list.map((pair) => pair[side]));
  const change = (list: readonly Pair[]) => of(list, 1) - of(list, 0);
  const random = new Random(pairs.length, BOOTSTRAP_STREAM);
  const found = change(pairs);
  const again = (made: () => readonly Pair[]) => Array.from({ length: RESAMPLES }, () => change(made()));
  const spread = again(() => pairs.map(() => pairs[Math.floor(random.uniform() * pairs.length)]));
  const chance = again(() => pairs.map(([before, after]) => (random.chance(0.5) ? [after, before] : [before, after])));
  spread.sort((a, b) => a - b);
  const tail = Math.floor((RESAMPLES * doubt) / 2);
  const [low, high] = [spread[tail], spread[RESAMPLES - 1 - tail]];
  const as_far = chance.filter((one) => Math.abs(one) >= Math.abs(found)).length;
  const beyond = (low > 0 || high < 0) && as_far <= RESAMPLES * doubt;
  const verdict = !beyond ? 'chance' : found * sign > 0 ? 'better' : 'worse';
  return { before: of(pairs, 0), after: of(pairs, 1), low, high, verdict };
}

/** @param questions comparisons that are made together: the more, the wider the intervals */
export function compare(before: readonly TrialCut[], after: readonly TrialCut[], questions = 1): Comparison {
  const doubt = (1 - CONFIDENCE) / (3 * questions);
  const both = finishedWithBoth(before, after);
  const ended = before.map(({ stop }, at) => [stop === null ? 1 : 0, after[at].stop === null ? 1 : 0] as const);
  const over = (name: 'error_mm' | 'least_standoff_mm', figure: typeof mean, sign: 1 | -1) => {
    const pairs = both.flatMap(([one, other]) => {
      const pair = [one[name], other[name]] as const;
      return pair[0] === null || pair[1] === null ? [] : [pair as Pair];
    });
    return pairs.length < FEWEST_PAIRS ? null : difference(pairs, figure, sign, doubt);
  };
  return {
    error_mm: over('error_mm', worstQuarter, -1),
    least_standoff_mm: over('least_standoff_mm', leastQuarter, 1),
    finished: difference(ended, mean, 1, doubt),
  };
}

const finishedWithBoth = (before: readonly TrialCut[], after: readonly TrialCut[]) =>
  before
    .map((one, at) => [one, after[at]] as const)
    .filter(([one, other]) => one.stop === null && other.stop === null && one.error_mm !== null);

const brokenCuts = (cuts: readonly TrialCut[]) => cuts.filter(({ broken }) => broken.length > 0).length;
const finishedCuts = (cuts: readonly TrialCut[]) => cuts.filter(({ stop }) => stop === null).length;

/** How much worse (above 0) or better than the present values: e-folds of the error, and what weighs as much. */
export function scoreOf(present: readonly TrialCut[], tried: readonly TrialCut[], cut_height_mm: number): number {
  const both = finishedWithBoth(present, tried);
  const side = (name: 'error_mm' | 'least_standoff_mm', at: 0 | 1) => both.map((pair) => pair[at][name] ?? 0);
  const error = both.length === 0 ? 0 : Math.log(worstQuarter(side('error_mm', 1)) / worstQuarter(side('error_mm', 0)));
  const least =
    both.length === 0 ? 0 : leastQuarter(side('least_standoff_mm', 0)) - leastQuarter(side('least_standoff_mm', 1));
  const stopped = (finishedCuts(present) - finishedCuts(tried)) / Math.max(1, finishedCuts(present));
  // A hundredth more of the cuts stopped weighs as half a hundredth of error; a broken requirement more than anything.
  return error + least / cut_height_mm + stopped / 2 + 10 * (brokenCuts(tried) - brokenCuts(present));
}

/** What cuts came to, as JSON. */
export const trialSummarySchema = z.strictObject({
  cuts: count,
  finished: count,
  stops: z.record(z.string(), count).meta({ description: 'cuts that were stopped, by what stopped them' }),
  goals_met: count.meta({ description: 'cuts that finished and met the quality goals for following' }),
  broken: z
    .array(z.strictObject({ cut: count, requirement: z.string() }))
    .meta({ description: 'requirements that were broken, with the number of the cut' }),
});

/** What cuts came to with one set of values. */
export type TrialSummary = z.infer<typeof trialSummarySchema>;

export function summaryOf(cuts: readonly TrialCut[], first: number): TrialSummary {
  const stops: Record<string, number> = {};
  for (const { stop } of cuts) if (stop !== null) stops[stop] = (stops[stop] ?? 0) + 1;
  const broken = cuts.flatMap((cut, at) => cut.broken.map((requirement) => ({ cut: first + at, requirement })));
  const goals_met = cuts.filter((cut) => cut.goals_met).length;
  return { cuts: cuts.length, finished: finishedCuts(cuts), stops, goals_met, broken };
}

import type { ControlModule } from '../controller/index.js';
import type { Advice, JobRun } from '../job/index.js';
import { GREATEST_SEED } from '../setup/index.js';
import {
  arcAndNoise,
  boxAndWorld,
  breakage,
  type Case,
  limits,
  type Remedy,
  type Suspicion,
  settings,
  sheetAndFeed,
  slower,
  trials as whatToTry,
} from './causes/index.js';
import { applyChanges } from './changes.js';
import { improves, noHelpText, type Pair, togetherOf, triedText, untriedText, worsened } from './compare.js';
import {
  isNew,
  NEARLY,
  OTHER_SEEDS,
  rank,
  type Stage,
  screen,
  type Tried,
  together,
  tryRemedy,
  unchanged,
} from './screen.js';
import { type Clock, type Trial, Trials, trialOf } from './trials.js';

/** Time for all the runs of an advice, ms. */
const ADVICE_MS = 5000;
const MOST_ADVICE = 3;
/** A gain below this share of what is bad about a run is none. */
const LEAST_GAIN = 0.05;
/** How many causes are tried on the other seeds before nothing is said to help. */
const MOST_CAUSES = 4;

/**
 * What to change after a cut that did not go well: the root cause first, each change tried on the cut's own seed and on five
 * others, together with the changes before it. Empty after a cut that finished and kept all its goals, or was broken off.
 * @param time_ms for all the runs together; what it is too short for is told as untried
 */
export function advise(
  run: JobRun,
  module: ControlModule,
  time_ms = ADVICE_MS,
  clock: Clock = () => performance.now(),
): Advice[] {
  const trial = trialOf(run);
  if (run.outcome.ended === 'interrupted' || untroubled(trial)) return [];
  const trials = new Trials(module, clock, time_ms);
  let stage: Stage = { scenario: run.job.scenario, trial, others: [], changed: new Set() };
  const found: Advice[] = [];
  while (found.length < MOST_ADVICE && !untroubled(stage.trial)) {
    const step = nextStep(stage, trials, found.length === 0);
    if (step === undefined) break;
    found.push(step.advice);
    if (step.stage === undefined) break;
    stage = step.stage;
  }
  return found;
}

const untroubled = ({ verdict }: Trial): boolean => verdict.word === 'finished' && verdict.goals_missed.length === 0;

interface Step {
  readonly advice: Advice;
  /** Undefined: nothing more is to be tried. */
  readonly stage?: Stage;
}

/** The cause that explains most, and the first change of it that helps. @param first nothing was found before */
function nextStep(stage: Stage, trials: Trials, first: boolean): Step | undefined {
  const of: Case = { ...stage.trial, scenario: stage.scenario, setup: stage.scenario.setup };
  const rulesOf = (rules: readonly ((of: Case) => Suspicion[])[]) =>
    unchanged(
      rules.flatMap((rule) => rule(of)),
      stage,
    );
  const hard = rulesOf([breakage, boxAndWorld, limits]);
  const suspicions = [...hard, ...rulesOf([settings, arcAndNoise, sheetAndFeed])];
  const least = LEAST_GAIN * stage.trial.cost;
  const helping = (list: readonly Suspicion[]) => screen(list, stage, trials).filter(({ gain }) => gain > least);
  const alone = helping(suspicions);
  const joint = together(hard, alone, stage, trials);
  const known = joint === undefined ? rank(alone) : [joint, ...rank(alone)];
  const ranked = (known.length > 0 ? known : rank(helping(unchanged(whatToTry(of), stage)))).slice(0, MOST_CAUSES);
  const worse: string[] = [];
  for (const each of ranked) {
    const step = verified(each, companionsOf(each, of, stage), stage, trials, worse);
    if (step !== undefined) return step;
  }
  if (!first) return undefined;
  const told = ranked[0]?.suspicion;
  if (trials.ran_out && worse.length === 0) return { advice: untried(told ?? suspicions[0]) };
  return { advice: noHelp(told ?? unknown(suspicions), worse) };
}

/** Nothing that is taken away helps. */
const unknown = (suspicions: readonly Suspicion[]): Suspicion => ({
  cause: 'unknown',
  what:
    suspicions.length === 0
      ? 'Box, table and arc agree; no value of the setup explains it.'
      : `None of what is at odds explains it: ${[...new Set(suspicions.map(({ cause }) => cause))].join(', ')}.`,
  seen: '',
  remedies: [],
});

/** Each remedy by itself, then the first one with what may keep it from making something worse. */
function companionsOf({ suspicion }: Tried, of: Case, stage: Stage): Remedy[] {
  const [first] = suspicion.remedies;
  const paths = new Set(first.changes.map(({ path }) => path));
  const free = unchanged(whatToTry(of), { ...stage, changed: new Set([...stage.changed, ...paths]) });
  const more = [...free.map(({ remedies }) => remedies[0]), slower(of, 70)].filter((remedy) => isNew(remedy, paths));
  const both = more.map((other) => ({ do: `${first.do} ${other.do}`, changes: [...first.changes, ...other.changes] }));
  return [...suspicion.remedies, ...both];
}

/**
 * The first remedy of a cause that helps on all seeds together and makes nothing worse.
 * @param worse takes what the first one that helps makes worse
 */
function verified(
  { suspicion, trial, gain }: Tried,
  remedies: readonly Remedy[],
  stage: Stage,
  trials: Trials,
  worse: string[],
): Step | undefined {
  for (const [index, remedy] of remedies.entries()) {
    if (index > 0 && !trials.fits(1 + OTHER_SEEDS)) return undefined;
    const own = index === 0 ? trial : tryRemedy(remedy, stage.scenario, trials);
    if (own === undefined || stage.trial.cost - own.cost < NEARLY * gain) continue;
    const others = otherSeeds(remedy, stage, trials);
    const pairs: Pair[] = [{ before: stage.trial, after: own }, ...others];
    const found = worsened(pairs);
    if (worse.length === 0 && improves(pairs)) worse.push(...found);
    if (!improves(pairs) || found.length > 0) continue;
    const before = togetherOf(pairs.map((pair) => pair.before));
    const after = togetherOf(pairs.map((pair) => pair.after));
    const whole = others.length === OTHER_SEEDS;
    const advice: Advice = {
      ...wordsOf(suspicion),
      do: remedy.do,
      changes: [...remedy.changes],
      tried: whole ? 'tried' : 'untried',
      result: triedText(before, after, whole),
      before,
      after,
    };
    if (!whole) return { advice };
    const scenario = applyChanges(stage.scenario, remedy.changes);
    const changed = new Set([...stage.changed, ...remedy.changes.map(({ path }) => path)]);
    return { advice, stage: { scenario, trial: own, others: others.map((pair) => pair.after), changed } };
  }
  return undefined;
}

/** The other seeds without the change and with it, as many as there is time for. */
function otherSeeds({ changes }: Remedy, stage: Stage, trials: Trials): Pair[] {
  const pairs: Pair[] = [];
  for (let index = 0; index < OTHER_SEEDS; index++) {
    const seed = otherSeed(stage.scenario.seed, index);
    stage.others[index] ??= trials.run(() => ({ ...stage.scenario, seed }));
    const before = stage.others[index];
    const after = trials.run(() => applyChanges({ ...stage.scenario, seed }, changes));
    if (before === undefined || after === undefined) break;
    pairs.push({ before, after });
  }
  return pairs;
}

const otherSeed = (seed: number, index: number): number =>
  seed + OTHER_SEEDS < GREATEST_SEED ? seed + 1 + index : seed - 1 - index;

const wordsOf = ({ cause, what, seen }: Suspicion) => ({ cause, what, seen });
const NOTHING = { changes: [], before: null, after: null };

const noHelp = (told: Suspicion, worse: readonly string[]): Advice => ({
  ...wordsOf(told),
  ...NOTHING,
  do: '',
  tried: 'nothing-helped',
  result: noHelpText(worse),
});

function untried(told: Suspicion | undefined): Advice {
  const remedy = told?.remedies[0];
  return {
    ...wordsOf(told ?? unknown([])),
    ...NOTHING,
    do: remedy?.do ?? '',
    changes: [...(remedy?.changes ?? [])],
    tried: 'untried',
    result: untriedText,
  };
}

// Which cause explains a run: apart from advise.ts, which tries what it finds on other seeds.
import type { Scenario } from '../setup/index.js';
import type { Remedy, Suspicion } from './causes/index.js';
import { applyChanges } from './changes.js';
import type { Trial, Trials } from './trials.js';

export const OTHER_SEEDS = 5;
/** A cause that explains this much of what the best one explains, and stands before it, is the root. */
export const NEARLY = 0.7;

/** A cut with the changes that were found so far, and what came of it by seed, its own first. */
export interface Stage {
  readonly scenario: Scenario;
  readonly trial: Trial;
  readonly others: (Trial | undefined)[];
  readonly changed: ReadonlySet<string>;
}

/** A suspicion and its own run without the cause. */
export interface Tried {
  readonly suspicion: Suspicion;
  readonly trial: Trial;
  readonly gain: number;
}

/** Without what was changed already: two that oppose each other are never told. */
export const unchanged = (list: readonly Suspicion[], { changed }: Stage): Suspicion[] =>
  list
    .map((each) => ({ ...each, remedies: each.remedies.filter((remedy) => isNew(remedy, changed)) }))
    .filter(({ remedies }) => remedies.length > 0);

export const isNew = ({ changes }: Remedy, changed: ReadonlySet<string>): boolean =>
  changes.length > 0 && changes.every(({ path }) => !changed.has(path));

/** Each cause taken away by itself, on the cut's own seed, while there is time left to try one of them on other seeds. */
export function screen(suspicions: readonly Suspicion[], stage: Stage, trials: Trials): Tried[] {
  const found: Tried[] = [];
  for (const suspicion of suspicions) {
    if (found.length > 0 && !trials.fits(1 + 2 * OTHER_SEEDS)) break;
    const trial = tryRemedy(suspicion.remedies[0], stage.scenario, trials);
    if (trial !== undefined) found.push({ suspicion, trial, gain: stage.trial.cost - trial.cost });
  }
  return found;
}

export function tryRemedy({ changes }: Remedy, scenario: Scenario, trials: Trials): Trial | undefined {
  return trials.run(() => applyChanges(scenario, changes));
}

/** The root first: the first in order that explains nearly as much as the best; then by what they explain. */
export function rank(tried: readonly Tried[]): Tried[] {
  const best = Math.max(...tried.map(({ gain }) => gain));
  const root = tried.find(({ gain }) => gain >= NEARLY * best);
  if (root === undefined) return [];
  const rest = tried.filter((each) => each !== root).sort((a, b) => b.gain - a.gain);
  return [root, ...rest];
}

/** Two causes at least, together better than the best alone by this. */
const TOGETHER = 1.5;
/** A part of a joint change that gives less than this share of its gain is left out. */
const NEEDED = 0.1;

/**
 * Causes that hide each other: all of what is certainly at odds put right at once, without what it does not need.
 * @param tried each alone
 * @returns undefined where one alone does as much
 */
export function together(
  hard: readonly Suspicion[],
  tried: readonly Tried[],
  stage: Stage,
  trials: Trials,
): Tried | undefined {
  const best = Math.max(0, ...tried.map(({ gain }) => gain));
  if (hard.length < 2 || best > stage.trial.cost / 2) return undefined;
  let parts = apart(hard);
  const gainOf = (list: readonly Suspicion[]) => {
    const trial = tryRemedy(joined(list), stage.scenario, trials);
    return trial && { trial, gain: stage.trial.cost - trial.cost };
  };
  let found = gainOf(parts);
  if (found === undefined || found.gain <= TOGETHER * best) return undefined;
  for (const part of [...parts].reverse()) {
    const fewer = parts.filter((each) => each !== part);
    const less = fewer.length > 0 && trials.fits(2 + 2 * OTHER_SEEDS) ? gainOf(fewer) : undefined;
    if (less === undefined || less.gain < (1 - NEEDED) * found.gain) continue;
    parts = fewer;
    found = less;
  }
  const [{ cause, seen }] = parts;
  const what = parts.map((part) => part.what).join(' ');
  return { suspicion: { cause, what, seen, remedies: [joined(parts)] }, ...found };
}

/** No two that change the same value. */
function apart(list: readonly Suspicion[]): Suspicion[] {
  const paths = new Set<string>();
  return list.filter(({ remedies: [{ changes }] }) => {
    if (changes.some(({ path }) => paths.has(path))) return false;
    for (const { path } of changes) paths.add(path);
    return true;
  });
}

const joined = (list: readonly Suspicion[]): Remedy => ({
  do: list.map(({ remedies: [{ do: act }] }) => act).join(' '),
  changes: list.flatMap(({ remedies: [{ changes }] }) => changes),
});

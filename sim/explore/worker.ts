import { Piscina } from 'piscina';
import { packageFile } from '../base/package/files.js';
import { type ControlModule, loadControlModule } from '../run/controller/index.js';
import { type CounterexampleStep, counterexampleOf } from './counterexample.js';
import {
  type Exploration,
  explore,
  exploreGuard,
  type GuardResult,
  NOT_REACHED,
  type Reached,
  reached,
} from './explorer.js';
import { INVARIANTS } from './invariants.js';
import { type Replay, replay } from './replay.js';
import { KINDS, type Kind } from './ticks.js';

interface ExploreTask extends Kind {
  readonly module_file?: string;
}

/** A broken invariant, with the shortest way there, or a longer one that was confirmed. */
export interface Broken {
  readonly invariant: string;
  readonly statement: string;
  readonly counterexample: readonly CounterexampleStep[];
  readonly replay: Replay;
}

/** What the exploration of one kind of box found, as plain data. */
export interface ExploreResult extends ExploreTask {
  readonly states: number;
  /** States with all that can happen in each, and the ticks that were run for that. */
  readonly transitions: number;
  readonly ticks: number;
  readonly time_ms: number;
  readonly next_modes: readonly number[];
  readonly reached: readonly Reached[];
  readonly violations: readonly Broken[];
  readonly guard: GuardResult;
}

/** What the pool calls. */
export default function work(task: ExploreTask): ExploreResult {
  const module = loadControlModule(task.module_file);
  const start_ms = performance.now();
  const exploration = explore(module, task);
  const time_ms = performance.now() - start_ms;
  const { states, transitions, ticks, next_modes } = exploration;
  return {
    ...task,
    states,
    transitions,
    ticks,
    time_ms,
    next_modes,
    reached: reached(exploration),
    violations: brokenOf(module, task, exploration),
    guard: exploreGuard(module, task),
  };
}

/** Each broken invariant once: with the first counterexample that true timers confirm, else with the shortest. */
function brokenOf(module: ControlModule, kind: Kind, exploration: Exploration): Broken[] {
  return INVARIANTS.flatMap(({ name, statement }) => {
    let best: Broken | undefined;
    for (const { invariant, before, choice, after } of exploration.violations) {
      if (invariant !== name || (best !== undefined && best.replay.broken !== null)) continue;
      const counterexample = counterexampleOf(exploration, before, choice, after);
      const found = { invariant, statement, counterexample, replay: replay(module, kind, counterexample) };
      if (best === undefined || found.replay.broken !== null) best = found;
    }
    return best === undefined ? [] : [best];
  });
}

/** Explores every kind of box, side by side. @throws when the signal breaks it off */
export async function exploreAll(
  workers: number,
  module_file?: string,
  signal?: AbortSignal,
): Promise<ExploreResult[]> {
  const filename = packageFile('dist/sim/explore/worker.js');
  const pool = new Piscina<ExploreTask, ExploreResult>({ filename, minThreads: 1, maxThreads: workers });
  const task = (kind: Kind) => ({ ...kind, ...(module_file !== undefined && { module_file }) });
  try {
    return await Promise.all(KINDS.map((kind) => pool.run(task(kind), { signal: signal ?? null })));
  } finally {
    await pool.destroy();
  }
}

/** What no kind of box came to, as kind and name, such as `refusal parameters`. */
export function neverReached(results: readonly ExploreResult[]): string[] {
  const all = results.flatMap(({ reached }) =>
    reached.map(({ kind, name, ticks }) => ({ word: `${kind} ${name}`, ticks })),
  );
  const reached = new Set(all.filter(({ ticks }) => ticks !== null).map(({ word }) => word));
  return [...new Set(all.map(({ word }) => word))].filter((word) => !reached.has(word));
}

/** An invariant was broken, something got past the guard, or something that the box must be able to do never came about. */
export const anythingFound = (results: readonly ExploreResult[]): boolean =>
  results.some(({ violations, guard }) => violations.length > 0 || guard.broken.length > 0) ||
  neverReached(results).some((word) => NOT_REACHED[word] === undefined);

/** An invariant that was broken in some kinds of box. */
export interface BrokenInvariant {
  /** From a kind of box in which its counterexample was confirmed, if there is one. */
  readonly broken: Broken;
  readonly kinds: readonly ExploreResult[];
}

/** Each broken invariant once. */
export function brokenInvariants(results: readonly ExploreResult[]): BrokenInvariant[] {
  const found = new Map<string, { broken: Broken; kinds: ExploreResult[] }>();
  for (const result of results) {
    for (const broken of result.violations) {
      const known = found.get(broken.invariant);
      if (known === undefined) found.set(broken.invariant, { broken, kinds: [result] });
      else {
        known.kinds.push(result);
        if (known.broken.replay.broken === null && broken.replay.broken !== null) known.broken = broken;
      }
    }
  }
  return [...found.values()];
}

/** The changes of mode that some kind of box came to: for each mode a bit for every next one. */
export const nextModes = (results: readonly ExploreResult[]): number[] =>
  results[0].next_modes.map((_, mode) => results.reduce((sum, result) => sum | result.next_modes[mode], 0));

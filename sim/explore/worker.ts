import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Piscina } from 'piscina';
import { type ControlModule, loadControlModule } from '../run/controller/index.js';
import { type CounterexampleStep, counterexampleOf } from './counterexample.js';
import { type Exploration, explore, exploreGuard, type GuardResult, type Reached, reached } from './explorer.js';
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
  readonly transitions: number;
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
  const { states, transitions, next_modes } = exploration;
  return {
    ...task,
    states,
    transitions,
    time_ms,
    next_modes,
    reached: reached(exploration),
    violations: brokenInvariants(module, task, exploration),
    guard: exploreGuard(module, task),
  };
}

/** Each broken invariant once: with the first counterexample that true timers confirm, else with the shortest. */
function brokenInvariants(module: ControlModule, kind: Kind, exploration: Exploration): Broken[] {
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

/** The compiled worker, also when the sources run directly. */
function workerFile(): string {
  const here = fileURLToPath(new URL('./worker.js', import.meta.url));
  return existsSync(here) ? here : fileURLToPath(new URL('../../dist/sim/explore/worker.js', import.meta.url));
}

/** Explores every kind of box, side by side. @throws when the signal breaks it off */
export async function exploreAll(
  workers: number,
  module_file?: string,
  signal?: AbortSignal,
): Promise<ExploreResult[]> {
  const pool = new Piscina<ExploreTask, ExploreResult>({ filename: workerFile(), minThreads: 1, maxThreads: workers });
  const task = (kind: Kind) => ({ ...kind, ...(module_file !== undefined && { module_file }) });
  try {
    return await Promise.all(KINDS.map((kind) => pool.run(task(kind), { signal: signal ?? null })));
  } finally {
    await pool.destroy();
  }
}

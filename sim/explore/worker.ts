import { loadControlModule } from '../controller/index.js';
import { type ExploreOptions, explore } from './explorer.js';
import { INVARIANTS } from './invariants.js';
import type { Kind } from './kind.js';
import { type Reached, reached } from './reach.js';
import { type Replay, replay } from './replay.js';
import { type StoryStep, storyOf } from './story.js';

export interface ExploreTask extends Kind {
  readonly module_file?: string;
}

/** What an exploration found, as plain data. */
export interface ExploreResult extends ExploreTask {
  readonly states: number;
  readonly transitions: number;
  readonly time_ms: number;
  readonly next_modes: readonly number[];
  readonly reached: readonly Reached[];
  readonly violations: readonly {
    readonly invariant: string;
    readonly statement: string;
    readonly story: readonly StoryStep[];
    readonly replay: Replay;
  }[];
}

export function exploreTask(task: ExploreTask, onProgress?: ExploreOptions['onProgress']): ExploreResult {
  const module = loadControlModule(task.module_file);
  const start_ms = Date.now();
  const exploration = explore(module, { ...task, ...(onProgress && { onProgress }) });
  return {
    ...task,
    states: exploration.states,
    transitions: exploration.transitions,
    time_ms: Date.now() - start_ms,
    next_modes: exploration.next_modes,
    reached: reached(exploration),
    violations: exploration.violations.map(({ invariant, before, choice, after }) => {
      const story = storyOf(exploration, before, choice, after);
      const { statement } = INVARIANTS.find((one) => one.name === invariant)!;
      return { invariant, statement, story, replay: replay(module, task, story) };
    }),
  };
}

/** What the pool calls. */
export default function work(task: ExploreTask): ExploreResult {
  return exploreTask(task);
}

import { type ControlModule, WasmController } from '../controller/index.js';
import { INVARIANTS, type Step } from './invariants.js';
import { fieldOf, keyOf } from './key.js';
import type { StoryStep } from './story.js';

/** Longest wait for a step of a story to come about with true timers, ticks: the longest timer of the defaults and some. */
const PATIENCE_TICKS = 4000;
/** What must agree after each step; debouncers and times of key and request run on meanwhile. */
const COMPARED = ['mode', 'stage', 'fault', 'trigger', 'permit', 'armed', 'owned', 'latched_stop'] as const;

export interface Replay {
  /** Ticks from power-up. */
  readonly ticks: number;
  /** Steps of the story that came about; all of them: the story is more than an artefact. */
  readonly steps: number;
  /** The broken invariant, if the true run breaks one. */
  readonly broken: string | null;
}

/**
 * A story on the module from power-up, tick by tick with its true timers and heights: each step's inputs are held until the
 * box does what the story says. A story that cannot be followed so may still be true in another timing; it is then said to
 * be unconfirmed.
 */
export function replay(module: ControlModule, story: readonly StoryStep[]): Replay {
  const controller = new WasmController(module);
  controller.powerUp();
  const state = controller.state();
  const words = new Int32Array(state.buffer, state.byteOffset, state.length / 4);
  const step: Step = {
    before: keyOf(words),
    after: 0,
    lines: 0,
    z_steps: 0,
    key_was_off_long: true,
    request_was_off_long: true,
  };
  let ticks = 0;
  for (let at = 0; at < story.length; at++) {
    const { lines, counts, feed, after } = story[at]!;
    let there = false;
    for (let wait = 0; wait < PATIENCE_TICKS && !there; wait++) {
      controller.readings.fill(counts);
      controller.lines = lines;
      controller.x_steps = feed === 0 ? 0 : feed === 1 ? 8 : 2;
      controller.tick();
      ticks++;
      step.before = step.after === 0 ? step.before : step.after;
      step.after = keyOf(words);
      step.lines = lines;
      step.z_steps = controller.z_steps;
      const broken = INVARIANTS.find((invariant) => !invariant.kept(step));
      if (broken) return { ticks, steps: at + 1, broken: broken.name };
      there = COMPARED.every((name) => fieldOf(step.after, name) === fieldOf(after, name));
    }
    if (!there) return { ticks, steps: at, broken: null };
  }
  return { ticks, steps: story.length, broken: null };
}

import { LINE_KEY, LINE_REQUEST, LINE_RESET } from '../../firmware/wire/layout.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { INVARIANTS } from './invariants.js';
import { fieldOf, keyOf } from './key.js';
import { emptyStep, look, TAKEN_BACK_TICKS } from './step.js';
import type { StoryStep } from './story.js';

/** Longest wait for a step of a story to come about with true timers, ticks: the longest timer of the defaults and some. */
const PATIENCE_TICKS = 6000;
/** How much longer than it needs the step before may last, ticks: a switch settles, a key counts as off, Z comes down. */
const LONGER_TICKS = [0, 5, 40, 400, 1500] as const;
/** Most steps that last longer than they need, and most ticks for all attempts: a second or so. */
const LONGER_MOST = 3;
const TICKS_MOST = 6_000_000;
/** What must agree after each step. */
const COMPARED = [
  'mode',
  'stage',
  'hold',
  'fault',
  'trigger',
  'permit',
  'latched_stop',
  'owned',
  'armed',
  'touched_off',
  'strikes',
  'permit_was_given',
  'arc_ok',
  'no_load_seen',
] as const;

/** What may have come about meanwhile without harm. */
const AT_LEAST = ['homed', 'request_was_off'] as const;

export interface Replay {
  /** Ticks from power-up to the end of the attempt that went furthest. */
  readonly ticks: number;
  /** Steps of the story that came about in it. */
  readonly steps: number;
  /** The broken invariant, if the true run breaks one. */
  readonly broken: string | null;
}

/**
 * A story on the module from power-up, tick by tick with its true timers and heights: each step's inputs are held until the
 * box does what the story says, or longer, as far as that leaves the box where it is. A story that cannot be followed so may
 * still be true in another timing; it is then said to be unconfirmed.
 */
export function replay(module: ControlModule, story: readonly StoryStep[]): Replay {
  const run = new TrueRun(module);
  for (let longer = 0; longer <= LONGER_MOST; longer++) {
    if (attempt(run, story, 0, longer) || run.spent >= TICKS_MOST) break;
  }
  return run.furthest;
}

/** @returns true when an invariant is broken, or the whole story came about */
function attempt(run: TrueRun, story: readonly StoryStep[], at: number, longer: number): boolean {
  if (at === story.length) return true;
  const here = run.snapshot();
  for (const more of longer > 0 && at > 0 ? LONGER_TICKS : ([0] as const)) {
    if (run.spent >= TICKS_MOST) return false;
    run.restore(here);
    const held = more === 0 || run.hold(story[at - 1]!, more);
    if (run.broken(at)) return true;
    if (!held) return false;
    const there = run.until(story[at]!);
    if (run.broken(there ? at + 1 : at)) return true;
    if (there && attempt(run, story, at + 1, more === 0 ? longer : longer - 1)) return true;
  }
  return false;
}

interface Snapshot {
  readonly state: Uint8Array;
  readonly ticks: number;
  readonly after: number;
  readonly key_off_ticks: number;
  readonly request_off_ticks: number;
  readonly reset_was_on: boolean;
}

/** The module from power-up, with what the invariants look at. */
class TrueRun {
  /** Ticks of all attempts together. */
  spent = 0;
  furthest: Replay = { ticks: 0, steps: 0, broken: null };
  private readonly controller: WasmController;
  private readonly state: Uint8Array;
  private readonly words: Int32Array;
  private ticks = 0;
  private key_off_ticks = 0;
  private request_off_ticks = 0;
  private reset_was_on = false;
  private found: string | null = null;
  private readonly step = emptyStep();

  constructor(module: ControlModule) {
    this.controller = new WasmController(module);
    this.controller.powerUp();
    this.state = this.controller.state();
    this.words = new Int32Array(this.state.buffer, this.state.byteOffset, this.state.length / 4);
    this.step.after = keyOf(this.words);
  }

  snapshot(): Snapshot {
    const { ticks, key_off_ticks, request_off_ticks, reset_was_on } = this;
    return { state: this.state.slice(), ticks, after: this.step.after, key_off_ticks, request_off_ticks, reset_was_on };
  }

  restore({ state, ticks, after, key_off_ticks, request_off_ticks, reset_was_on }: Snapshot): void {
    this.state.set(state);
    this.ticks = ticks;
    this.step.after = after;
    this.key_off_ticks = key_off_ticks;
    this.request_off_ticks = request_off_ticks;
    this.reset_was_on = reset_was_on;
  }

  /** Holds the inputs of a step. @returns false when the box does not stay where the step has led it */
  hold(step: StoryStep, ticks: number): boolean {
    for (let tick = 0; tick < ticks && this.found === null; tick++) {
      this.tick(step);
      if (!agrees(this.step.after, step.after)) return false;
    }
    return true;
  }

  /** Holds the inputs of a step until it has come about. @returns whether it has */
  until(step: StoryStep): boolean {
    for (let tick = 0; tick < PATIENCE_TICKS && this.found === null; tick++) {
      this.tick(step);
      if (agrees(this.step.after, step.after)) return true;
      // Out of a fault leads nothing but the story itself.
      if (fieldOf(this.step.after, 'fault') !== 0 && fieldOf(this.step.before, 'fault') === 0) return false;
    }
    return false;
  }

  /** Whether an invariant has been broken; keeps the attempt that went furthest. */
  broken(steps: number): boolean {
    if (this.found !== null || steps > this.furthest.steps) {
      this.furthest = { ticks: this.ticks, steps, broken: this.found };
    }
    return this.found !== null;
  }

  private tick({ lines, counts, feed }: StoryStep): void {
    const { controller, step } = this;
    controller.readings.fill(counts);
    controller.lines = lines;
    controller.x_steps = feed === 0 ? 0 : feed === 1 ? 8 : 2;
    step.before = step.after;
    step.lines = lines;
    step.key_was_off_long = this.key_off_ticks >= TAKEN_BACK_TICKS;
    // With this tick it has been off for all of them.
    step.request_was_off_long = this.request_off_ticks >= TAKEN_BACK_TICKS - 1;
    step.reset_was_on = this.reset_was_on;
    controller.tick();
    this.ticks++;
    this.spent++;
    this.key_off_ticks = (lines & LINE_KEY) === 0 ? this.key_off_ticks + 1 : 0;
    this.request_off_ticks = (lines & LINE_REQUEST) === 0 ? this.request_off_ticks + 1 : 0;
    this.reset_was_on = (lines & LINE_RESET) !== 0;
    look(this.words, controller.output, step);
    this.found = INVARIANTS.find((invariant) => !invariant.kept(step))?.name ?? null;
  }
}

/** @param one of the true run @param other of the story */
const agrees = (one: number, other: number): boolean =>
  COMPARED.every((name) => fieldOf(one, name) === fieldOf(other, name)) &&
  AT_LEAST.every((name) => fieldOf(one, name) >= fieldOf(other, name));

import {
  LINE_KEY,
  LINE_OVERRUN,
  LINE_RELAY,
  LINE_REQUEST,
  LINE_RESET,
  LINE_REST,
  LINE_STOP_CHAIN,
  LINE_SUPPLY_CONTACT,
} from '../../firmware/wire/layout.gen.js';
import type { ControlModule } from '../controller/index.js';
import { bitsOf, fieldOf } from './key.js';
import type { Kind } from './kind.js';
import type { StoryStep } from './story.js';
import { type Inputs, type Standing, TrueRun } from './true-run.js';

/** Longest wait for a step of a story to come about with true timers, ticks: the longest timer of the defaults and some. */
const PATIENCE_TICKS = 6000;
/** Most ways to a step that are followed further, and most ticks for all of them: a second or so. */
const WAYS_MOST = 50;
const TICKS_MOST = 5_000_000;
/** After so many ticks the ring of readings and the history of the mean stand where they stood. */
const RING_TURN_TICKS = 64;
/** What acts in the tick in which it comes; all else needs time to be seen: switches settle, the voltage goes through a mean. */
const AT_ONCE =
  LINE_KEY | LINE_REQUEST | LINE_STOP_CHAIN | LINE_RESET | LINE_OVERRUN | LINE_SUPPLY_CONTACT | LINE_RELAY | LINE_REST;

/** How a step of a story can be made to come about; ticks. */
interface Way {
  /** The inputs of the step before are held for so much longer. */
  readonly hold: number;
  /** What needs time to be seen comes so much earlier than what acts at once. */
  readonly lead: number;
  /** The voltage stays what it was until the step has come about. */
  readonly voltage_stays: boolean;
}
const way = (some: Partial<Way>): Way => ({ hold: 0, lead: 0, voltage_stays: false, ...some });
/** A switch settles, a mean half changes and changes wholly; a key counts as off but for a tick, and off; Z comes down. */
const WAYS: readonly Way[] = [
  way({}),
  way({ voltage_stays: true }),
  ...[4, 8, 15, 40].map((lead) => way({ lead })),
  ...[5, 27, 28, 40, 400, 1500].map((hold) => way({ hold })),
];

/** What must agree after each step. */
const COMPARED = bitsOf(
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
);

/** What may have come about meanwhile without harm. */
const AT_LEAST = bitsOf('homed', 'request_was_off');

export interface Replay {
  /** Ticks from power-up to the end of the attempt that went furthest. */
  readonly ticks: number;
  /** Steps of the story that came about in it. */
  readonly steps: number;
  /** The broken invariant, if the true run breaks one. */
  readonly broken: string | null;
}

/** A way through the story so far. */
interface Reached {
  readonly at: Standing;
  /** The inputs of its last tick. */
  readonly inputs: Inputs;
  /** Steps that did not come about plainly. */
  readonly detours: number;
}

/**
 * A story on the module from power-up, tick by tick with its true timers and heights: each step's inputs are held until the
 * box does what the story says; or they come in other ways, of which those that need the fewest detours are followed further.
 * A story that cannot be followed so may still be true in another timing; it is then said to be unconfirmed.
 */
export function replay(module: ControlModule, kind: Kind, story: readonly StoryStep[]): Replay {
  const run = new TrueRun(module, kind);
  let ways: readonly Reached[] = [{ at: run.standing(), inputs: story[0]!, detours: 0 }];
  let furthest = 0;
  for (let at = 0; at < story.length; at++) {
    const next = waysTo(run, ways, story[at]!, at === story.length - 1);
    if (run.broken !== null) return { ticks: run.ticks, steps: Math.min(at + 1, story.length), broken: run.broken };
    if (next.length === 0) return { ticks: furthest, steps: at, broken: null };
    ways = next.sort((a, b) => a.detours - b.detours).slice(0, WAYS_MOST);
    furthest = ways[0]!.at.ticks;
  }
  return { ticks: furthest, steps: story.length, broken: null };
}

/** All ways to a step; ends when a rule is broken. */
function waysTo(run: TrueRun, ways: readonly Reached[], step: StoryStep, last: boolean): Reached[] {
  const found: Reached[] = [];
  const known = new Set<string>();
  for (const one of WAYS) {
    for (const from of ways) {
      if (run.spent >= TICKS_MOST) return found;
      run.takeUp(from.at);
      const inputs = follow(run, from.inputs, step, one);
      if (run.broken !== null) return found;
      if (inputs === undefined) continue;
      const name = `${run.sequence()} ${inputs.counts}`;
      if (known.has(name)) continue;
      known.add(name);
      found.push({ at: run.standing(), inputs, detours: from.detours + (one === WAYS[0] ? 0 : 1) });
      // What the story ends with may take its time to show.
      if (last) until(run, inputs, () => false);
      if (run.broken !== null) return found;
    }
  }
  return found;
}

/** @returns the inputs with which the step has come about; undefined when it has not */
function follow(run: TrueRun, before: Inputs, step: StoryStep, { hold, lead, voltage_stays }: Way): Inputs | undefined {
  const early = { ...step, lines: (before.lines & AT_ONCE) | (step.lines & ~AT_ONCE) };
  if (!stays(run, before, hold) || !stays(run, early, lead)) return undefined;
  const inputs = voltage_stays ? { ...step, counts: before.counts } : step;
  let faulty = fieldOf(run.key, 'fault') !== 0;
  let lost = false;
  until(run, inputs, () => {
    // Out of a fault leads nothing but the story itself.
    lost = !faulty && fieldOf(run.key, 'fault') !== 0 && !agrees(run.key, step.after);
    faulty = fieldOf(run.key, 'fault') !== 0;
    return lost || agrees(run.key, step.after);
  });
  return !lost && agrees(run.key, step.after) ? inputs : undefined;
}

/** Holds the inputs until something has come about, a rule is broken, or nothing can change any more. */
function until(run: TrueRun, inputs: Inputs, cameAbout: () => boolean): void {
  let before_turn = run.standing();
  for (let tick = 1; tick <= PATIENCE_TICKS; tick++) {
    run.tick(inputs);
    if (run.broken !== null || cameAbout()) return;
    if (tick % RING_TURN_TICKS !== 0) continue;
    if (run.same(before_turn)) return;
    before_turn = run.standing();
  }
}

/** Some ticks in which the box must stay in its mode. */
function stays(run: TrueRun, inputs: Inputs, ticks: number): boolean {
  const mode = fieldOf(run.key, 'mode');
  for (let tick = 0; tick < ticks && run.broken === null; tick++) {
    run.tick(inputs);
    if (fieldOf(run.key, 'mode') !== mode) return false;
  }
  return true;
}

/** @param one of the true run @param other of the story */
const agrees = (one: number, other: number): boolean =>
  ((one ^ other) & COMPARED) === 0 && (other & AT_LEAST & ~one) === 0;

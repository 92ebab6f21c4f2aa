import {
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_STOP_CHAIN,
  INPUT_SUPPLY_CONTACT,
} from '../../firmware/wire/layout.js';
import type { ControlModule } from '../run/controller/index.js';
import type { CounterexampleStep } from './counterexample.js';
import { bitsOf, fieldOf } from './key.js';
import type { Kind } from './kind.js';
import { type Inputs, type Standing, TrueRun } from './true-run.js';

/** Longest wait for a step of a counterexample to come about with true timers, ticks: the longest timer of the defaults and some. */
const PATIENCE_TICKS = 6000;
/** Most ways to a step that are followed further, and most ticks for all of them: a second or so. */
const WAYS_MOST = 50;
const TICKS_MOST = 5_000_000;
/** After so many ticks the ring of readings and the history of the mean stand where they stood. */
const RING_TURN_TICKS = 64;
/** What acts in the tick in which it comes; all else needs time to be seen: switches settle, the voltage goes through a mean. */
const AT_ONCE = INPUT_KEY | INPUT_REQUEST | INPUT_STOP_CHAIN | INPUT_RESET | INPUT_OVERRUN | INPUT_SUPPLY_CONTACT;

/** How a step of a counterexample can be made to come about; ticks. */
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
  /** Steps of the counterexample that came about in it. */
  readonly steps: number;
  /** The broken invariant, if the true run breaks one. */
  readonly broken: string | null;
}

/** A way through the counterexample so far. */
interface Reached {
  readonly at: Standing;
  /** The inputs of its last tick. */
  readonly inputs: Inputs;
  /** Steps that did not come about plainly. */
  readonly detours: number;
}

/**
 * A counterexample on the module from power-up, tick by tick with its true timers and heights: each step's inputs are held until the
 * box does what the counterexample says; or they come in other ways, of which those that need the fewest detours are followed further.
 * A counterexample that cannot be followed so may still be true in another timing; it is then said to be unconfirmed.
 */
export function replay(module: ControlModule, kind: Kind, counterexample: readonly CounterexampleStep[]): Replay {
  const run = new TrueRun(module, kind);
  let ways: readonly Reached[] = [{ at: run.standing(), inputs: counterexample[0], detours: 0 }];
  let furthest = 0;
  for (let at = 0; at < counterexample.length; at++) {
    const next = waysTo(run, ways, counterexample[at], at === counterexample.length - 1);
    if (run.broken !== null)
      return { ticks: run.ticks, steps: Math.min(at + 1, counterexample.length), broken: run.broken };
    if (next.length === 0) return { ticks: furthest, steps: at, broken: null };
    ways = next.sort((a, b) => a.detours - b.detours).slice(0, WAYS_MOST);
    furthest = ways[0].at.ticks;
  }
  return { ticks: furthest, steps: counterexample.length, broken: null };
}

/** All ways to a step; ends when a rule is broken. */
function waysTo(run: TrueRun, ways: readonly Reached[], step: CounterexampleStep, last: boolean): Reached[] {
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
      // What the counterexample ends with may take its time to show.
      if (last) until(run, inputs, () => false);
      if (run.broken !== null) return found;
    }
  }
  return found;
}

/** @returns the inputs with which the step has come about; undefined when it has not */
function follow(
  run: TrueRun,
  before: Inputs,
  step: CounterexampleStep,
  { hold, lead, voltage_stays }: Way,
): Inputs | undefined {
  const early = { ...step, digital_inputs: (before.digital_inputs & AT_ONCE) | (step.digital_inputs & ~AT_ONCE) };
  if (!stays(run, before, hold) || !stays(run, early, lead)) return undefined;
  const inputs = voltage_stays ? { ...step, counts: before.counts } : step;
  let faulty = fieldOf(run.key, 'fault') !== 0;
  let lost = false;
  until(run, inputs, () => {
    // Out of a fault leads nothing but the counterexample itself.
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

/** @param one of the true run @param other of the counterexample */
const agrees = (one: number, other: number): boolean =>
  ((one ^ other) & COMPARED) === 0 && (other & AT_LEAST & ~one) === 0;

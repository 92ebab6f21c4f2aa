// A counterexample run again on the module with true timers; apart from worker.ts, which explores.
import { MODE_PIERCE } from '../../firmware/wire/codes.gen.js';
import {
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_REST,
  INPUT_STOP_CHAIN,
  INPUT_SUPPLY_CONTACT,
  OUTPUT_MEASURED_V,
} from '../../firmware/wire/layout.gen.js';
import { REGULATOR_AT } from '../../firmware/wire/state-fields.gen.js';
import type { ControlModule, WasmController } from '../run/controller/index.js';
import type { CounterexampleStep } from './counterexample.js';
import { brokenBy, FACT } from './facts.js';
import { INVARIANTS } from './invariants.js';
import { bitsOf, fieldOf } from './key.js';
import { loopOf } from './loop.js';
import { controllerOf, factsOf, type Kind } from './ticks.js';
import {
  ARC_HIGH_V,
  ARC_LOW_V,
  ARC_OFF_MS,
  FEED_REST,
  FEED_RUNNING,
  PIERCE_STEPS,
  RUNNING_STEPS,
  STEPS_PER_MM,
  sequenceWord,
  VOLTS_PER_COUNT,
} from './world.js';

const Z = sequenceWord('z');
const Z_TOUCHED = sequenceWord('z_touched');

/** What the surroundings do in a tick. */
interface Inputs {
  readonly digital_inputs: number;
  /** Each of the ten readings. */
  readonly counts: number;
  /** FEED_REST, FEED_RUNNING or FEED_FALLEN. */
  readonly feed: number;
  /** What the voltage answers to the strokes of the proof, V/mm. */
  readonly answer_V_per_mm: number;
}

const COMPUTED =
  FACT.key_was_off_long | FACT.request_was_off_long | FACT.reset_was_on | FACT.arc_gone | FACT.contact_lasted;
/** Steps of X in a tick after the feed has fallen. */
const FALLEN_STEPS = 2;

/** What a run knows beside the module's state. */
const POWERED_UP = {
  /** Since power-up. */
  ticks: 0,
  /** The key after the last tick. */
  key: 0,
  key_off_ticks: 0,
  request_off_ticks: 0,
  reset_was_on: false,
  /** For how long the voltage has been outside the arc window. */
  outside_ticks: 0,
  /** For how long the firing contact has been closed against the trigger. */
  contact_ticks: 0,
};

/** A point of a run, from which it can be resumed. */
type Standing = Readonly<typeof POWERED_UP> & { readonly state: Uint8Array };

/** The module from power-up, tick by tick, with what the invariants ask about. */
export class TrueRun {
  /** Ticks of all attempts together. */
  spent = 0;
  /** The first invariant that was broken. */
  broken: string | null = null;
  private readonly controller: WasmController;
  private readonly loop: ReturnType<typeof loopOf>;
  private readonly given: number;
  private readonly state: Uint8Array;
  private readonly words: Int32Array;
  private known = { ...POWERED_UP };
  /** What was judged last: most ticks are as the one before. */
  private judged = { before: -1, after: -1, facts: 0 };

  constructor(module: ControlModule, kind: Kind) {
    this.controller = controllerOf(module, kind);
    this.loop = loopOf(this.controller);
    this.controller.powerUp();
    this.given = factsOf(kind);
    this.state = this.controller.state();
    this.words = new Int32Array(this.state.buffer, this.state.byteOffset, this.state.length / 4);
    this.known.key = this.loop.key() >>> 0;
  }

  get key(): number {
    return this.known.key;
  }

  get ticks(): number {
    return this.known.ticks;
  }

  standing(): Standing {
    return { state: this.state.slice(), ...this.known };
  }

  /** The sequence as text: two ways that lead to the same are one. */
  sequence(): string {
    return this.words.subarray(0, REGULATOR_AT / 4).join();
  }

  /**
   * Nothing of the state, the place in the ring included, differs from a standing: nothing will come about any more.
   */
  same({ state }: Standing): boolean {
    return this.state.every((byte, at) => byte === state[at]);
  }

  resume({ state, ...known }: Standing): void {
    this.state.set(state);
    this.known = known;
  }

  /** The voltage as the torch's height changes it, above pierce height alone. */
  private answered({ counts, answer_V_per_mm }: Inputs): number {
    const [z, z_touched] = [this.words[Z], this.words[Z_TOUCHED]];
    if (answer_V_per_mm === 0 || fieldOf(this.known.key, 'mode') !== MODE_PIERCE) return counts;
    const above_mm = (z - z_touched - PIERCE_STEPS) / STEPS_PER_MM;
    return Math.round(counts + (answer_V_per_mm * above_mm) / VOLTS_PER_COUNT);
  }

  tick(inputs: Inputs): void {
    const { digital_inputs, feed } = inputs;
    const { controller, loop, known } = this;
    controller.readings.fill(this.answered(inputs));
    controller.digital_inputs = digital_inputs;
    controller.x_steps = feed === FEED_REST ? 0 : feed === FEED_RUNNING ? RUNNING_STEPS : FALLEN_STEPS;
    // How long something has lasted is computed here, where invariants ask about it: the module may be wrong.
    const facts =
      (loop.before() & ~COMPUTED) |
      (known.key_off_ticks >= FACT.WITHDRAWN_TICKS ? FACT.key_was_off_long : 0) |
      (known.request_off_ticks >= FACT.WITHDRAWN_TICKS - 1 ? FACT.request_was_off_long : 0) |
      (known.reset_was_on ? FACT.reset_was_on : 0) |
      (known.outside_ticks >= ARC_OFF_MS ? FACT.arc_gone : 0) |
      (known.contact_ticks >= FACT.RELAY_TICKS - 1 ? FACT.contact_lasted : 0);
    const against = (digital_inputs & INPUT_RELAY) !== 0 && fieldOf(known.key, 'trigger') === 0;
    controller.tick();
    this.spent++;
    known.ticks++;
    known.key_off_ticks = (digital_inputs & INPUT_KEY) === 0 ? known.key_off_ticks + 1 : 0;
    known.request_off_ticks = (digital_inputs & INPUT_REQUEST) === 0 ? known.request_off_ticks + 1 : 0;
    known.reset_was_on = (digital_inputs & INPUT_RESET) !== 0;
    known.contact_ticks = against ? known.contact_ticks + 1 : 0;
    const measured_V = controller.output.reals[OUTPUT_MEASURED_V / 4];
    known.outside_ticks = measured_V >= ARC_LOW_V && measured_V <= ARC_HIGH_V ? 0 : known.outside_ticks + 1;
    const before = known.key;
    known.key = loop.key() >>> 0;
    this.judge(before, known.key, loop.facts(facts, digital_inputs) | this.given);
  }

  private judge(before: number, after: number, facts: number): void {
    const { judged } = this;
    if (judged.before === before && judged.after === after && judged.facts === facts) return;
    judged.before = before;
    judged.after = after;
    judged.facts = facts;
    this.broken ??= brokenBy(INVARIANTS, before, after, facts)[0]?.name ?? null;
  }
}

/** Longest wait for a step to come about with true timers, ticks: somewhat more than the longest default timer. */
const PATIENCE_TICKS = 6000;
/** Most ways to a step that are followed further, and most ticks for all of them: about a second. */
const WAYS_MOST = 50;
const TICKS_MOST = 5_000_000;
/** After this many ticks the ring of readings and the history of the mean are where they were. */
const RING_TURN_TICKS = 64;
/** What acts in the tick in which it comes; all else needs time to be seen: switches settle, the voltage goes through a mean. */
const AT_ONCE =
  INPUT_KEY |
  INPUT_REQUEST |
  INPUT_STOP_CHAIN |
  INPUT_RESET |
  INPUT_OVERRUN |
  INPUT_SUPPLY_CONTACT |
  INPUT_RELAY |
  INPUT_REST;

/** How a step of a counterexample can be made to come about; ticks. */
interface Way {
  /** The inputs of the step before are held for this much longer. */
  readonly hold: number;
  /** What takes time comes this much earlier than what acts at once. */
  readonly lead: number;
  /** The voltage stays what it was until the step has come about. */
  readonly voltage_stays: boolean;
}
const way = (some: Partial<Way>): Way => ({ hold: 0, lead: 0, voltage_stays: false, ...some });
/** A switch settles, a mean changes by half and wholly; a key is a tick short of off, and off; Z comes down. */
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
  'proved',
);

/** What may have come about as well. */
const AT_LEAST = bitsOf('homed', 'request_was_off');

export interface Replay {
  /** Ticks from power-up to the end of the attempt that got furthest. */
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
  /** Steps that did not come about in the plain way. */
  readonly detours: number;
}

/**
 * Runs a counterexample on the module from power-up, tick by tick, with true timers and heights. The inputs of each
 * step are held until the box does what the counterexample says, or they come in other ways; of these the ones with the
 * fewest detours are followed further. A counterexample that cannot be followed in this way may still be true with
 * another timing; it is then called unconfirmed.
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

/** All ways to a step; ends when an invariant is broken. */
function waysTo(run: TrueRun, ways: readonly Reached[], step: CounterexampleStep, last: boolean): Reached[] {
  const found: Reached[] = [];
  const known = new Set<string>();
  for (const one of WAYS) {
    for (const from of ways) {
      if (run.spent >= TICKS_MOST) return found;
      run.resume(from.at);
      const inputs = follow(run, from.inputs, step, one);
      if (run.broken !== null) return found;
      if (inputs === undefined) continue;
      const name = `${run.sequence()} ${inputs.counts}`;
      if (known.has(name)) continue;
      known.add(name);
      found.push({ at: run.standing(), inputs, detours: from.detours + (one === WAYS[0] ? 0 : 1) });
      // The end of the counterexample may take time to show.
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
    // Only the counterexample itself leads out of a fault.
    lost = !faulty && fieldOf(run.key, 'fault') !== 0 && !agrees(run.key, step.after);
    faulty = fieldOf(run.key, 'fault') !== 0;
    return lost || agrees(run.key, step.after);
  });
  return !lost && agrees(run.key, step.after) ? inputs : undefined;
}

/** Holds the inputs until something has come about, an invariant is broken, or nothing can change any more. */
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

/** Runs some ticks in which the box must stay in its mode. @returns whether it did */
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

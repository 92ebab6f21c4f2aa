import { INPUT_KEY, INPUT_REQUEST, INPUT_RESET, OUTPUT_MEASURED_V } from '../../firmware/wire/layout.js';
import { REGULATOR_AT } from '../../firmware/wire/state-fields.js';
import type { ControlModule, WasmController } from '../run/controller/index.js';
import { FACT, factsAfter, factsBefore, TAKEN_BACK_TICKS } from './facts.js';
import { brokenBy } from './invariant.js';
import { INVARIANTS } from './invariants.js';
import { keyOf } from './key.js';
import { controllerOf, factsOf, type Kind } from './kind.js';
import { ARC_HIGH_V, ARC_LOW_V, ARC_OFF_MS, FEED_REST, FEED_RUNNING, RUNNING_STEPS } from './world.js';

/** What the surroundings do in a tick. */
export interface Inputs {
  readonly digital_inputs: number;
  /** Each of the ten readings. */
  readonly counts: number;
  /** FEED_REST, FEED_RUNNING or FEED_FALLEN. */
  readonly feed: number;
}

const RECKONED = FACT.key_was_off_long | FACT.request_was_off_long | FACT.reset_was_on | FACT.arc_gone;
/** Steps of X in a tick after the feed has fallen. */
const FALLEN_STEPS = 2;

/** Where a run stands; it can be resumed from there. */
export interface Standing {
  readonly state: Uint8Array;
  readonly ticks: number;
  readonly key: number;
  readonly key_off_ticks: number;
  readonly request_off_ticks: number;
  readonly reset_was_on: boolean;
  readonly outside_ticks: number;
}

/** The module from power-up, tick by tick, with what the rules ask about. */
export class TrueRun {
  /** Ticks of all attempts together, and since power-up. */
  spent = 0;
  ticks = 0;
  /** The key after the last tick. */
  key: number;
  /** The first rule that was broken. */
  broken: string | null = null;
  private readonly controller: WasmController;
  private readonly given: number;
  private readonly state: Uint8Array;
  private readonly words: Int32Array;
  private key_off_ticks = 0;
  private request_off_ticks = 0;
  private reset_was_on = false;
  /** For how long the voltage has been outside the arc window. */
  private outside_ticks = 0;
  /** What was judged last: most ticks are as the one before. */
  private judged = { before: -1, after: -1, facts: 0 };

  constructor(module: ControlModule, kind: Kind) {
    this.controller = controllerOf(module, kind);
    this.controller.powerUp();
    this.given = factsOf(kind);
    this.state = this.controller.state();
    this.words = new Int32Array(this.state.buffer, this.state.byteOffset, this.state.length / 4);
    this.key = keyOf(this.words);
  }

  standing(): Standing {
    const { ticks, key, key_off_ticks, request_off_ticks, reset_was_on, outside_ticks } = this;
    return { state: this.state.slice(), ticks, key, key_off_ticks, request_off_ticks, reset_was_on, outside_ticks };
  }

  /** The sequence as text: two ways that have led to the same are one. */
  sequence(): string {
    return this.words.subarray(0, REGULATOR_AT / 4).join();
  }

  /** Nothing of the state, the place in the ring included, is other than in a standing: nothing will come about any more. */
  same({ state }: Standing): boolean {
    return this.state.every((byte, at) => byte === state[at]);
  }

  takeUp(standing: Standing): void {
    const { state, ticks, key, key_off_ticks, request_off_ticks, reset_was_on, outside_ticks } = standing;
    this.state.set(state);
    this.outside_ticks = outside_ticks;
    this.ticks = ticks;
    this.key = key;
    this.key_off_ticks = key_off_ticks;
    this.request_off_ticks = request_off_ticks;
    this.reset_was_on = reset_was_on;
  }

  tick({ digital_inputs, counts, feed }: Inputs): void {
    const { controller, words } = this;
    controller.readings.fill(counts);
    controller.digital_inputs = digital_inputs;
    controller.x_steps = feed === FEED_REST ? 0 : feed === FEED_RUNNING ? RUNNING_STEPS : FALLEN_STEPS;
    // What has lasted how long is computed here, where the rules are about it: the module may be wrong.
    const said = factsBefore(words) & ~RECKONED;
    const known =
      (this.key_off_ticks >= TAKEN_BACK_TICKS ? FACT.key_was_off_long : 0) |
      (this.request_off_ticks >= TAKEN_BACK_TICKS - 1 ? FACT.request_was_off_long : 0) |
      (this.reset_was_on ? FACT.reset_was_on : 0) |
      (this.outside_ticks >= ARC_OFF_MS ? FACT.arc_gone : 0);
    controller.tick();
    this.ticks++;
    this.spent++;
    this.key_off_ticks = (digital_inputs & INPUT_KEY) === 0 ? this.key_off_ticks + 1 : 0;
    this.request_off_ticks = (digital_inputs & INPUT_REQUEST) === 0 ? this.request_off_ticks + 1 : 0;
    this.reset_was_on = (digital_inputs & INPUT_RESET) !== 0;
    const true_V = controller.output.reals[OUTPUT_MEASURED_V / 4];
    this.outside_ticks = true_V >= ARC_LOW_V && true_V <= ARC_HIGH_V ? 0 : this.outside_ticks + 1;
    const before = this.key;
    this.key = keyOf(words);
    this.judge(before, this.key, factsAfter(said | known, digital_inputs, words, controller.output) | this.given);
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

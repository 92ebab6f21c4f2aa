import { MODE_ROWS } from '../../firmware/wire/code-rows.js';
import { OUTPUT_REFUSAL } from '../../firmware/wire/layout.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { REGULATOR_AT, RING_AT } from '../../firmware/wire/state-fields.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { Choices, type ChoiceTable, ROW } from './choices.js';
import { INVARIANTS } from './invariants.js';
import { keyOf, restore } from './key.js';
import { SeenSteps } from './seen.js';
import { emptyStep, look, type Step, TAKEN_BACK_TICKS } from './step.js';
import { KeyTable } from './table.js';
import { makeTemplates, sequenceWord, type Templates, VOLTAGES } from './world.js';

/** Which of the module's two kinds of sensing and of target is explored. */
export interface ExploreOptions {
  readonly supply_contact: boolean;
  readonly target_learned: boolean;
  /** Ends the walk after the state in which something was broken; else every state is walked through. */
  readonly first_only?: boolean;
  readonly onProgress?: (states: number, open: number, transitions: number) => void;
}

/** An invariant that was broken: the shortest way there ends with this tick. */
export interface Violation {
  readonly invariant: string;
  readonly before: number;
  readonly choice: number;
  readonly after: number;
}

export interface Exploration {
  readonly states: number;
  readonly transitions: number;
  readonly violations: readonly Violation[];
  /** Number of transitions in which each invariant was looked at is `transitions`: all of them in every tick. */
  readonly refusals: ReadonlySet<number>;
  /** Mode changes as found: bit set of the modes that follow each mode. */
  readonly next_modes: readonly number[];
  readonly table: KeyTable;
  /** Choices in the state of a key. */
  readonly choicesOf: (key: number) => ChoiceTable;
}

const KEY_OFF = sequenceWord('key_off_ms');
const REQUEST_OFF = sequenceWord('request_off_ms');
const SEQUENCE_WORDS = REGULATOR_AT / 4;
const LAST_READING = sequenceWord('last_reading');
const RESET_BEFORE = sequenceWord('reset_before');
/** Bits of a key. */
const KEY_WAS_OFF = 1 << 30;
const REQUEST_WAS_OFF = 1 << 31;
/** Regulator and filter, in words. */
const BEFORE_RING = (RING_AT - REGULATOR_AT) / 4;

/** Runs single ticks of the shipped module from states that are put together from a key and a choice. */
export class TickRunner {
  readonly controller: WasmController;
  readonly words: Int32Array;
  private readonly templates: Templates;
  private readonly choices: Choices;
  /** The template that stands in the region. */
  private standing: Int32Array | undefined;

  constructor(module: ControlModule, { supply_contact, target_learned }: ExploreOptions) {
    this.controller = new WasmController(module);
    const set = (name: string, value: number) => {
      this.controller.setParameter(PARAMETER_ROWS.find((row) => row.name === name)!.id, value);
    };
    set('supply_contact', supply_contact ? 1 : 0);
    set('target_learned', target_learned ? 1 : 0);
    this.templates = makeTemplates(this.controller);
    const state = this.controller.state();
    this.words = new Int32Array(state.buffer, state.byteOffset, state.length / 4);
    this.choices = new Choices(supply_contact);
  }

  /** What can happen in the state of a key. */
  choicesOf(key: number): ChoiceTable {
    return this.choices.of(key);
  }

  /** The key of a box that has just been switched on. */
  start(): number {
    this.controller.powerUp();
    this.standing = undefined;
    return keyOf(this.words);
  }

  /** One tick from a key under one of its choices; @returns the key after it. */
  step(key: number, { rows, width, words: places }: ChoiceTable, choice: number, into: Step): number {
    const { controller, words } = this;
    const row = choice * width;
    const voltage = rows[row + ROW.voltage]!;
    const feed = rows[row + ROW.feed]!;
    this.putTemplate(this.templates[voltage]![feed]!, VOLTAGES[voltage]!.counts);
    restore(key, words, SEQUENCE_WORDS);
    words[LAST_READING] = VOLTAGES[voltage]!.counts;
    for (let at = 0; at < places.length; at++) words[places[at]!] = rows[row + ROW.values + at]!;
    // The times that key and request were off exist only where they were off.
    const key_off = key & KEY_WAS_OFF ? Math.max(1, words[KEY_OFF]!) : 0;
    const request_off = key & REQUEST_WAS_OFF ? Math.max(1, words[REQUEST_OFF]!) : 0;
    words[KEY_OFF] = key_off;
    words[REQUEST_OFF] = request_off;
    into.key_was_off_long = key_off >= TAKEN_BACK_TICKS;
    into.request_was_off_long = request_off >= TAKEN_BACK_TICKS - 1;
    into.reset_was_on = words[RESET_BEFORE] !== 0;
    const lines = rows[row + ROW.lines]!;
    controller.lines = lines;
    controller.x_steps = feed === 0 ? 0 : 8;
    controller.tick();
    into.before = key;
    into.lines = lines;
    look(words, controller.output, into);
    return into.after;
  }

  /** Ring and history of a steady voltage are after a tick what they were before: only what stands before them is put back. */
  private putTemplate(template: Int32Array, counts: number): void {
    const { words } = this;
    const same = template === this.standing;
    if (!same) {
      this.standing = template;
      this.controller.readings.fill(counts);
    }
    const end = same ? BEFORE_RING : template.length;
    for (let at = 0; at < end; at++) words[SEQUENCE_WORDS + at] = template[at]!;
  }
}

/**
 * Breadth first over everything that can happen in every state that can be reached. Sound for what the invariants speak of:
 * timers of any length, switches that chatter as long as they like, any height of Z, eight classes of voltage.
 */
export function explore(module: ControlModule, options: ExploreOptions): Exploration {
  const runner = new TickRunner(module, options);
  const table = new KeyTable();
  const step = emptyStep();
  const violations = new Map<string, Violation>();
  const refusals = new Set<number>();
  const next_modes = new Array<number>(MODE_ROWS.length).fill(0);
  const { integers } = runner.controller.output;
  const seen = new SeenSteps();
  let transitions = 0;
  table.add(runner.start(), -1, -1);
  for (let at = 0; at < table.size; at++) {
    const key = table.keyAt(at);
    const mode = key & 15;
    const choices = runner.choicesOf(key);
    const { count } = choices;
    seen.clear();
    for (let choice = 0; choice < count; choice++) {
      const after = runner.step(key, choices, choice, step);
      // Most choices lead to what another has led to already.
      if (!seen.add(step, integers[OUTPUT_REFUSAL / 4]!)) continue;
      table.add(after, at, choice);
      next_modes[mode]! |= 1 << (after & 15);
      refusals.add(integers[OUTPUT_REFUSAL / 4]!);
      for (let index = 0; index < INVARIANTS.length; index++) {
        const invariant = INVARIANTS[index]!;
        if (invariant.kept(step) || violations.has(invariant.name)) continue;
        violations.set(invariant.name, { invariant: invariant.name, before: at, choice, after });
      }
    }
    transitions += count;
    options.onProgress?.(table.size, table.size - at - 1, transitions);
    if (options.first_only === true && violations.size > 0) break;
  }
  return {
    states: table.size,
    transitions,
    violations: [...violations.values()],
    refusals,
    next_modes,
    table,
    choicesOf: (key) => runner.choicesOf(key),
  };
}

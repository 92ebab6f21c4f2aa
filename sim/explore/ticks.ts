import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { REGULATOR_AT, RING_AT } from '../../firmware/wire/state-fields.gen.js';
import { type ControlModule, WasmController } from '../run/controller/index.js';
import { Batch, type OnSighting } from './batch.js';
import { Choices, type ChoiceTable, ROW } from './choices.js';
import { FACT, factsAfter, factsBefore } from './facts.js';
import { keyOf, restore } from './key.js';
import { FEED_REST, makeTemplates, RUNNING_STEPS, sequenceWord, type Templates, VOLTAGES } from './world.js';

/** Which of the module's two kinds of sensing and of target to explore. */
export interface Kind {
  readonly supply_contact: boolean;
  readonly target_learned: boolean;
}

/** With and without the supply's contact, with a fixed and a learned target; the slowest first. */
export const KINDS: readonly Kind[] = [true, false].flatMap((supply_contact) =>
  [false, true].map((target_learned) => ({ supply_contact, target_learned })),
);

/** The module with the parameters of a kind. */
export function controllerOf(module: ControlModule, { supply_contact, target_learned }: Kind): WasmController {
  const controller = new WasmController(module);
  const set = (name: string, on: boolean) => {
    controller.setParameter(PARAMETER_ROWS.find((row) => row.name === name)!.id, on ? 1 : 0);
  };
  set('supply_contact', supply_contact);
  set('target_learned', target_learned);
  return controller;
}

/** Facts of every tick of a kind: a supply without a contact counts as one whose contact is always closed. */
export const factsOf = ({ supply_contact }: Kind): number => (supply_contact ? 0 : FACT.contact);

const KEY_OFF = sequenceWord('key_off_ms');
const REQUEST_OFF = sequenceWord('request_off_ms');
const SEQUENCE_WORDS = REGULATOR_AT / 4;
const LAST_READING = sequenceWord('last_reading');
/** Bits of a key. */
const KEY_WAS_OFF = 1 << 30;
const REQUEST_WAS_OFF = 1 << 31;
/** Regulator and filter, in words. */
const BEFORE_RING = (RING_AT - REGULATOR_AT) / 4;

/** Runs single ticks of the shipped module from states that are put together from a key and a choice. */
export class TickRunner {
  readonly controller: WasmController;
  readonly words: Int32Array;
  /** Facts of the last `step`. */
  facts = 0;
  private readonly templates: Templates;
  private readonly choices: Choices;
  private readonly batch: Batch;
  /** The template that is in the state region. */
  private standing: Int32Array | undefined;

  constructor(module: ControlModule, kind: Kind) {
    this.controller = controllerOf(module, kind);
    this.templates = makeTemplates(this.controller);
    const state = this.controller.state();
    this.words = new Int32Array(state.buffer, state.byteOffset, state.length / 4);
    this.choices = new Choices(kind.supply_contact);
    this.batch = new Batch(this.controller, this.templates);
  }

  /** What can happen in the state of a key. */
  choicesOf(key: number): ChoiceTable {
    return this.choices.of(key);
  }

  /** The key of a box at power-up. */
  start(): number {
    this.controller.powerUp();
    this.standing = undefined;
    return keyOf(this.words);
  }

  /** One tick from a key under each choice of a table, quickly. */
  stepAll(key: number, table: ChoiceTable, onSighting: OnSighting): void {
    this.standing = undefined;
    this.batch.runAll(key, table, onSighting);
  }

  /** One tick from a key under one choice, the plain way: the reference for the quick one. @returns the key after it */
  step(key: number, { rows, width, words: places }: ChoiceTable, choice: number): number {
    const { controller, words } = this;
    const row = choice * width;
    const voltage = rows[row + ROW.voltage];
    const feed = rows[row + ROW.feed];
    this.putTemplate(this.templates[voltage][feed], VOLTAGES[voltage].counts);
    restore(key, words, SEQUENCE_WORDS);
    words[LAST_READING] = VOLTAGES[voltage].counts;
    for (let at = 0; at < places.length; at++) words[places[at]] = rows[row + ROW.values + at];
    // The times that key and request were off exist only where they were off.
    words[KEY_OFF] = key & KEY_WAS_OFF ? Math.max(1, words[KEY_OFF]) : 0;
    words[REQUEST_OFF] = key & REQUEST_WAS_OFF ? Math.max(1, words[REQUEST_OFF]) : 0;
    const before = factsBefore(words);
    controller.digital_inputs = rows[row + ROW.digital_inputs];
    controller.x_steps = feed === FEED_REST ? 0 : RUNNING_STEPS;
    controller.tick();
    this.facts = factsAfter(before, controller.digital_inputs, words, controller.output);
    return keyOf(words);
  }

  /** A tick does not change ring and history of a steady voltage: only what is before them is put back. */
  private putTemplate(template: Int32Array, counts: number): void {
    const { words } = this;
    const same = template === this.standing;
    if (!same) {
      this.standing = template;
      this.controller.readings.fill(counts);
    }
    const end = same ? BEFORE_RING : template.length;
    for (let at = 0; at < end; at++) words[SEQUENCE_WORDS + at] = template[at];
  }
}

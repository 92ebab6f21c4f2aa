import { SET_DONE } from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { REGULATOR_AT } from '../../firmware/wire/state-fields.gen.js';
import { type ControlModule, WasmController } from '../run/controller/index.js';
import { Batch, type OnSighting } from './batch.js';
import { Choices, type ChoiceTable, chosen } from './choices.js';
import { FACT } from './facts.js';
import { keyOf, restore } from './key.js';
import { comparedWith, loopOf, PAGES, trackedCopyOf } from './loop.js';
import { FEED_REST, makeTemplates, RUNNING_STEPS, sequenceWord, type Templates, VOLTAGES } from './world.js';

/** Parameters that differ from what the box comes with; heights, steps and arc window may not: options and facts speak of them. */
export const PARAMETER_SETS = {
  'as the box comes': {},
  'with every lockout off and no time to wait': {
    ...{ corner_fraction: 0, crossing_rise_mm_per_s: 0, crossing_band_mm: 0, stuck_ms: 0, spike_V: 0 },
    ...{ hold_carried: 0, feed_effect_V: 0, pierce_ms: 0, settle_ms: 0 },
  },
} as const satisfies Readonly<Record<string, Readonly<Record<string, number>>>>;
type ParameterSet = keyof typeof PARAMETER_SETS;

/** Which of the module's two kinds of sensing and of target to explore, and with which other parameters. */
export interface Kind {
  readonly supply_contact: boolean;
  readonly target_learned: boolean;
  readonly parameters?: ParameterSet;
}

/** With and without the supply's contact, with a fixed and a learned target, the slowest first; then another set of parameters. */
export const KINDS: readonly Kind[] = [
  ...[true, false].flatMap((supply_contact) =>
    [false, true].map((target_learned) => ({ supply_contact, target_learned })),
  ),
  ...[false, true].map(
    (target_learned): Kind => ({
      ...{ supply_contact: false, target_learned },
      parameters: 'with every lockout off and no time to wait',
    }),
  ),
];

/** The module with the parameters of a kind. @throws Error when the module refuses one */
export function controllerOf(
  module: ControlModule,
  { supply_contact, target_learned, parameters = 'as the box comes' }: Kind,
): WasmController {
  const controller = new WasmController(module, PAGES);
  const values = { ...PARAMETER_SETS[parameters], supply_contact, target_learned };
  for (const [name, value] of Object.entries(values)) {
    const { id } = PARAMETER_ROWS.find((row) => row.name === name)!;
    if (controller.setParameter(id, Number(value)) !== SET_DONE) throw new Error(`${name} = ${value} was refused`);
  }
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

/** Runs ticks of a module from states that are put together from a key and a choice. */
export class TickRunner {
  readonly controller: WasmController;
  readonly words: Int32Array;
  /** Facts of the last `step`. */
  facts = 0;
  private readonly templates: Templates;
  private readonly choices: Choices;
  private readonly loop: ReturnType<typeof loopOf>;
  private readonly batch: Batch;
  /** Of the tracked copy, if there is one. */
  private readonly tracked: Batch | undefined;

  /** @param tracked the module's tracked copy; null: every tick is run */
  constructor(module: ControlModule, kind: Kind, tracked: ControlModule | null = trackedCopyOf(module) ?? null) {
    this.controller = controllerOf(module, kind);
    this.templates = makeTemplates(this.controller);
    const state = this.controller.state();
    this.words = new Int32Array(state.buffer, state.byteOffset, state.length / 4);
    this.choices = new Choices(kind.supply_contact);
    this.loop = loopOf(this.controller);
    this.batch = new Batch(this.controller, this.templates);
    if (tracked === null) return;
    const fault = this.controller.linked.state() + 4 * sequenceWord('fault');
    this.tracked = new Batch(controllerOf(tracked, kind), this.templates, comparedWith(tracked, fault));
  }

  /** What can happen in the state of a key. */
  choicesOf(key: number): ChoiceTable {
    return this.choices.of(key);
  }

  /** The key of a box at power-up, or after a restart in this fault. */
  start(fault = 0): number {
    this.controller.restart(fault);
    return keyOf(this.words);
  }

  /** Every choice of a table from a key, quickly. @returns the ticks run */
  stepAll(key: number, table: ChoiceTable, onSighting: OnSighting): number {
    return (this.tracked ?? this.batch).runAll(key, table, onSighting);
  }

  /** One tick from a key under one choice, the plain way: the reference for the quick one. @returns the key after it */
  step(key: number, table: ChoiceTable, choice: number): number {
    const { controller, words, loop } = this;
    const { digital_inputs, voltage, feed, values } = chosen(table, choice);
    const { counts } = VOLTAGES[voltage];
    controller.readings.fill(counts);
    words.set(this.templates[voltage][feed], SEQUENCE_WORDS);
    restore(key, words, SEQUENCE_WORDS);
    words[LAST_READING] = counts;
    for (const [word, value] of values) words[word] = value;
    // The times that key and request were off exist only where they were off.
    words[KEY_OFF] = key & KEY_WAS_OFF ? Math.max(1, words[KEY_OFF]) : 0;
    words[REQUEST_OFF] = key & REQUEST_WAS_OFF ? Math.max(1, words[REQUEST_OFF]) : 0;
    const said = loop.before();
    controller.digital_inputs = digital_inputs;
    controller.x_steps = feed === FEED_REST ? 0 : RUNNING_STEPS;
    controller.tick();
    this.facts = loop.facts(said, digital_inputs);
    return keyOf(words);
  }
}

import {
  INPUT_BYTES,
  INPUT_DIGITAL,
  INPUT_READINGS,
  INPUT_X_STEPS,
  READINGS_PER_TICK,
} from '../../firmware/wire/layout.gen.js';
import { REGULATOR_AT } from '../../firmware/wire/state-fields.gen.js';
import type { WasmController } from '../run/controller/index.js';
import { type ChoiceTable, effectOf } from './choices.js';
import type { Option } from './directions.js';
import { fieldOf, KEY_PARTS, restore } from './key.js';
import { DIRECTIONS_MOST, FAULT_COMPARED, FIELD_MARKS, FIELDS, loopOf, type Marks, marksOf } from './loop.js';
import { FEEDS, NOTHING, sequenceWord, type Templates, VOLTAGES } from './world.js';

/** One tick: its choice, the key after it, its facts. */
export type OnSighting = (choice: number, after: number, facts: number) => void;

const SEQUENCE_WORDS = REGULATOR_AT / 4;

/** What the choices of a key have led to, in the order of the choices; four words each: choice, key, facts, bits carried. */
interface Seen {
  readonly key: number;
  /** Which of the constants that a fault is compared with it is; -1: none. */
  readonly fault: number;
  /** The bits of the key that mattered, and whether it mattered how the fault compares. */
  readonly looked_at: number;
  readonly fault_compared: boolean;
  readonly sightings: Int32Array;
}
const SIGHTING = 4;

type Packed = ReturnType<typeof pack>;

/** Runs all choices of a state in a loop that is WebAssembly itself, in the memory of a controller. */
export class Batch {
  private readonly loop: ReturnType<typeof loopOf>;
  private readonly marks: Marks | undefined;
  private readonly page: Int32Array;
  private readonly packed = new Map<ChoiceTable, Packed>();
  private readonly seen = new Map<ChoiceTable, Seen[]>();
  private standing: ChoiceTable | undefined;

  /** @param fault_constants of a tracked copy: what it compares the fault with */
  constructor(
    private readonly controller: WasmController,
    private readonly templates: Templates,
    private readonly fault_constants: readonly number[] = [],
  ) {
    this.loop = loopOf(controller);
    this.marks = marksOf(controller);
    const { loop } = this;
    this.page = new Int32Array(controller.linked.memory.buffer);
    const counts = VOLTAGES.map((voltage) => voltage.counts);
    this.put(loop.COUNTS.value, counts);
    templates.flat().forEach((template, at) => {
      this.put(loop.TEMPLATES.value + at * template.byteLength, template);
    });
    if (this.marks !== undefined) {
      loop.find_marks(this.marks.marks(), this.marks.line_marks(), this.marks.met());
      // Compared with a constant, the fault has a mark of its own.
      const fault = sequenceWord('fault');
      const own = FIELD_MARKS[KEY_PARTS.findIndex(({ word }) => word === fault)];
      this.put(this.marks.compared() + controller.linked.state() + 4 * fault, [own ^ FAULT_COMPARED]);
    }
  }

  /**
   * All choices of a key; each that differs from the others in key or facts after its tick is told, the first first. With a
   * tracked copy as few ticks are run as it takes: none for a key that differs from an earlier one only in what no tick of that
   * has looked at.
   * @returns the ticks run
   */
  runAll(key: number, table: ChoiceTable, onSighting: OnSighting): number {
    if (this.marks === undefined) {
      this.begin(key, table);
      const ticks = this.loop.walk();
      tell(this.sightings(), key, onSighting);
      return ticks;
    }
    const seen = this.seen.get(table) ?? [];
    this.seen.set(table, seen);
    const fault = this.fault_constants.indexOf(fieldOf(key, 'fault'));
    let like = seen.find(
      (one) => ((key ^ one.key) & one.looked_at) === 0 && (!one.fault_compared || one.fault === fault),
    );
    let ticks = 0;
    if (like === undefined) {
      this.begin(key, table);
      ticks = this.loop.skip(FIELDS);
      const marks = this.loop.looked_at();
      const looked_at = KEY_PARTS.reduce(
        (all, { shift, most }, at) => all | (marks & FIELD_MARKS[at] ? most << shift : 0),
        0,
      );
      like = { key, fault, looked_at, fault_compared: (marks & FAULT_COMPARED) !== 0, sightings: this.sightings() };
      seen.push(like);
    }
    tell(like.sightings, key, onSighting);
    return ticks;
  }

  /** Choices that were drawn. @param digits of each of them the options: a byte for each direction */
  runDrawn(key: number, table: ChoiceTable, digits: Uint8Array, onSighting: OnSighting): void {
    this.begin(key, table);
    new Uint8Array(this.page.buffer).set(digits, this.loop.DRAWN.value);
    this.loop.walk_drawn(digits.length / table.directions.length);
    tell(this.sightings(), key, onSighting);
  }

  private put(place: number, words: ArrayLike<number>): void {
    this.page.set(words, place / 4);
  }

  private begin(key: number, table: ChoiceTable): void {
    const { loop, page } = this;
    restore(key, page.subarray(loop.IMAGE.value / 4), SEQUENCE_WORDS);
    if (table === this.standing) return;
    this.standing = table;
    const packed = this.packed.get(table) ?? pack(table, this.templates);
    this.packed.set(table, packed);
    for (const [place, words] of Object.entries(packed.loop))
      this.put(loop[place as keyof Packed['loop']].value, words);
    if (this.marks === undefined) return;
    if (table.directions.length > DIRECTIONS_MOST)
      throw new Error(`${table.directions.length} directions are too many`);
    this.put(this.marks.marks() + this.controller.linked.input(), packed.input_marks);
    this.put(this.marks.line_marks(), packed.line_marks);
  }

  /** What the loop has found, in the order of the choices. */
  private sightings(): Int32Array {
    const { loop, page } = this;
    const first = loop.SIGHTINGS.value / 4;
    const count = loop.sightings();
    // A choice is below 2^31, a place below 2^16: together they are one whole number.
    const order = new Float64Array(count);
    for (let at = 0; at < count; at++) order[at] = page[first + SIGHTING * at] * 65_536 + at;
    order.sort();
    const sorted = new Int32Array(SIGHTING * count);
    for (let to = 0; to < count; to++) {
      const from = first + SIGHTING * (order[to] % 65_536);
      for (let word = 0; word < SIGHTING; word++) sorted[SIGHTING * to + word] = page[from + word];
    }
    return sorted;
  }
}

function tell(sightings: Int32Array, key: number, onSighting: OnSighting): void {
  for (let at = 0; at < sightings.length; at += SIGHTING) {
    onSighting(sightings[at], (sightings[at + 1] | (key & sightings[at + 3])) >>> 0, sightings[at + 2]);
  }
}

// Layout of module/choice.ts, in words.
const OPTION = 16;
const OPTION_SETS_MOST = 6;
/** Columns of a row, bytes. */
const ROW = { voltage: 4, feed: 8, values: 16 } as const;

/** A table as the loop wants it: what stands at which of its places, and the marks of inputs, block and bit by bit. */
export function pack(table: ChoiceTable, templates: Templates) {
  const { directions, firsts, on, off, words } = table;
  const places = directions.map((_, at) => directions.slice(0, at).reduce((place, { length }) => place * length, 1));
  const numbers = directions.map((_, at) => directions.slice(0, at).flat().length);
  const { state_marks, ...input } = marksOfTable(table, templates);
  const loop = {
    TABLE: Int32Array.of(directions.length, firsts, words.length, on, off),
    DIRECTIONS: Int32Array.from(directions.flatMap(({ length }, at) => [length, numbers[at], places[at]])),
    OPTIONS: Int32Array.from(directions.flat().flatMap((option) => packOption(option, words))),
    WORDS: Int32Array.from(words, (word) => 4 * word),
    USUAL: Int32Array.from([0, NOTHING, 0, 0, ...words.map(() => 0)]),
    MARK_IMAGE: state_marks,
  };
  return { loop, ...input };
}

function packOption(option: Option, words: readonly number[]): number[] {
  const sets = [...effectOf(option)].map(([word, value]) => [ROW.values + 4 * words.indexOf(word), value]);
  if (option.voltage !== undefined) sets.push([ROW.voltage, option.voltage]);
  if (option.feed !== undefined) sets.push([ROW.feed, option.feed]);
  if (sets.length > OPTION_SETS_MOST) throw new Error(`an option sets too much: ${option.say}`);
  const list = [option.digital_inputs ?? 0, option.faulting ? 1 : 0, sets.length, 0, ...sets.flat()];
  return [...list, ...new Array<number>(OPTION - list.length).fill(0)];
}

/** Which directions each word and each input comes from: a bit for each. */
function marksOfTable({ directions, words }: ChoiceTable, templates: Templates) {
  const markOf = (sets: (option: Option) => boolean): number =>
    directions.reduce((mark, direction, at) => (direction.some(sets) ? mark | (1 << at) : mark), 0);
  const voltage = markOf((option) => option.voltage !== undefined);
  const feed = markOf((option) => option.feed !== undefined);
  const state_marks = new Int32Array(SEQUENCE_WORDS + templates[0][0].length);
  // What stands behind the sequence comes from voltage and feed, as far as it differs with them.
  templates[0][0].forEach((_, word) => {
    const by_voltage = FEEDS.some((__, at) => templates.some((row) => row[at][word] !== templates[0][at][word]));
    const by_feed = templates.some((row) => row.some((template) => template[word] !== row[0][word]));
    state_marks[SEQUENCE_WORDS + word] = (by_voltage ? voltage : 0) | (by_feed ? feed : 0);
  });
  state_marks[sequenceWord('last_reading')] = voltage;
  KEY_PARTS.forEach(({ word }, at) => {
    state_marks[word] = FIELD_MARKS[at];
  });
  for (const word of words) state_marks[word] = markOf((option) => effectOf(option).has(word));
  const line_marks = Int32Array.from({ length: 32 }, (_, bit) =>
    markOf(({ digital_inputs = 0 }) => ((digital_inputs >>> bit) & 1) !== 0),
  );
  const input_marks = new Int32Array(INPUT_BYTES / 4);
  input_marks.fill(voltage, INPUT_READINGS / 4, INPUT_READINGS / 4 + READINGS_PER_TICK / 2);
  input_marks[INPUT_DIGITAL / 4] = line_marks.reduce((all, mark) => all | mark, 0);
  input_marks[INPUT_X_STEPS / 4] = feed;
  return { state_marks, input_marks, line_marks };
}

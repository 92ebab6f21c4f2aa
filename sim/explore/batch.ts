// All choices of a key in one call, through the loop in WebAssembly; apart from ticks.ts, which also runs a tick the plain way.
import { REGULATOR_AT } from '../../firmware/wire/state-fields.gen.js';
import type { WasmController } from '../run/controller/index.js';
import type { ChoiceTable } from './choices.js';
import { fieldOf, KEY_PARTS, restore } from './key.js';
import { DIRECTIONS_MOST, FAULT_COMPARED, FIELD_MARKS, FIELDS, loopOf, type Marks, marksOf } from './loop.js';
import { type Packed, pack } from './pack.js';
import { sequenceWord, type Templates, VOLTAGES } from './world.js';

/** One tick: its choice, the key after it, its facts. */
export type OnSighting = (choice: number, after: number, facts: number) => void;

const SEQUENCE_WORDS = REGULATOR_AT / 4;

/** What the choices of a key have led to, in the order of the choices; four words each: choice, key, facts, bits carried. */
interface Seen {
  readonly key: number;
  /** The bits of the key that mattered, and whether it mattered how the fault compares with some constants. */
  readonly looked_at: number;
  readonly fault_compared: boolean;
  readonly sightings: Int32Array;
}
const SIGHTING = 4;

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
    let like = seen.find((one) => this.isLike(key, one));
    let ticks = 0;
    if (like === undefined) {
      this.begin(key, table);
      ticks = this.loop.skip(FIELDS);
      const marks = this.loop.looked_at();
      const looked_at = KEY_PARTS.reduce(
        (all, { shift, most }, at) => all | (marks & FIELD_MARKS[at] ? most << shift : 0),
        0,
      );
      like = { key, looked_at, fault_compared: (marks & FAULT_COMPARED) !== 0, sightings: this.sightings() };
      seen.push(like);
    }
    tell(like.sightings, key, onSighting);
    return ticks;
  }

  private isLike(key: number, { key: other, looked_at, fault_compared }: Seen): boolean {
    if (((key ^ other) & looked_at) !== 0) return false;
    const [fault, other_fault] = [fieldOf(key, 'fault'), fieldOf(other, 'fault')];
    return !fault_compared || this.fault_constants.every((one) => (fault === one) === (other_fault === one));
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
    this.put(loop.TABLE.value, packed.table);
    this.put(loop.DIRECTIONS.value, packed.directions);
    this.put(loop.OPTIONS.value, packed.options);
    this.put(loop.WORDS.value, packed.words);
    this.put(loop.USUAL.value, packed.usual);
    if (this.marks === undefined) return;
    if (table.directions.length > DIRECTIONS_MOST)
      throw new Error(`${table.directions.length} directions are too many`);
    this.put(loop.MARK_IMAGE.value, packed.state_marks);
    const { linked } = this.controller;
    this.put(this.marks.marks() + linked.input(), packed.input_marks);
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

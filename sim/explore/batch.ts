// The only file that knows the layout of the page; apart from ticks.ts, which would be too long with it.
import { INPUT_DIGITAL, INPUT_READINGS, INPUT_X_STEPS } from '../../firmware/wire/layout.gen.js';
import {
  FILTER_AT,
  REGULATOR_AT,
  REGULATOR_FIELDS,
  RING_AT,
  SEQUENCE_FIELDS,
} from '../../firmware/wire/state-fields.gen.js';
import type { WasmController } from '../run/controller/index.js';
import {
  add,
  all,
  and,
  type Code,
  call,
  choose,
  copy,
  differLong,
  during,
  get,
  greater,
  i32,
  less,
  load,
  loadLong,
  long,
  moduleOf,
  multiply,
  ne,
  or,
  orLong,
  put,
  putLong,
  putWord,
  set,
  shiftLeft,
  shiftLeftLong,
  shiftRight,
  when,
  word,
  xor,
} from './assembler.js';
import { type ChoiceTable, ROW } from './choices.js';
import { afterCode, type Blocks, beforeCode, keyCode } from './facts.js';
import { bitsOf, restore } from './key.js';
import { FEED_REST, FEEDS, RUNNING_STEPS, sequenceWord, type Templates, VOLTAGES } from './world.js';

/** The module needs less memory than this (asconfig.json, lowMemoryLimit); it never touches the rest of its page. */
const MODULE_BYTES = 4096;
/** The state behind the sequence. */
const TEMPLATE_BYTES = 640;
/** Sightings that are remembered, in pairs of places. */
const KNOWN = 2048;
const KNOWN_BYTES = 8 * KNOWN;
/** Most sightings on the list of a batch, and the words of each: choice, key after the tick, facts. */
const LISTED = 512;
const LIST_WORDS = 3;

/** What stands where in the rest of the page, bytes. */
const PLACE = {
  /** The sequence as it is before every tick of a batch. */
  image: 4096,
  /** Places of the words that a row sets. */
  words: 4352,
  /** Converter count of each class of voltage. */
  counts: 4608,
  /** The template whose ring stands in the state; 0: none. */
  standing: 4672,
  /** Number of sightings on the list. */
  listed: 4676,
  templates: 5120,
  known: 20_480,
  list: 36_864,
  rows: 43_008,
  end: 65_536,
} as const;

// Parameters and locals.
const [
  COUNT,
  ROW_BYTES,
  WORDS_END,
  KEY,
  CHOICE,
  ROW_AT,
  FROM,
  TO,
  TEMPLATE,
  COUNTS,
  DIGITAL_INPUTS,
  OFF,
  BEFORE,
  AFTER,
  FACTS,
  FOUND,
] = Array.from({ length: 16 }, (_, index) => index) as [
  ...[number, number, number, number, number, number, number, number],
  ...[number, number, number, number, number, number, number, number],
];
const SIGHTING = 16;
const PARAMETERS = 4;
const WORD_LOCALS = 12;

const row = (column: number): Code => load(get(ROW_AT), 4 * column);
const plus = (local: number, value: Code): Code => set(local, add(get(local), value));

/** Bytes that hold this many words, in whole blocks of sixteen. */
const sixteens = (words: number): number => 16 * Math.ceil(words / 4);

/** Puts the template of the row's voltage and feed behind the sequence. */
function putTemplate({ state, input }: Blocks): Code {
  const before_ring = RING_AT - REGULATOR_AT;
  const number = add(multiply(row(ROW.voltage), i32(FEEDS.length)), row(ROW.feed));
  const two = or(get(COUNTS), shiftLeft(get(COUNTS), i32(16)));
  const other = all(
    putWord(PLACE.standing, get(TEMPLATE)),
    copy(state + RING_AT, get(TEMPLATE), TEMPLATE_BYTES - before_ring, before_ring),
    ...[0, 4, 8, 12, 16].map((offset) => putWord(input + INPUT_READINGS + offset, two)),
  );
  return all(
    set(TEMPLATE, add(i32(PLACE.templates), multiply(number, i32(TEMPLATE_BYTES)))),
    set(COUNTS, load(shiftLeft(row(ROW.voltage), i32(2)), PLACE.counts)),
    when(ne(get(TEMPLATE), word(PLACE.standing)), other),
    copy(state + REGULATOR_AT, get(TEMPLATE), sixteens(REGULATOR_FIELDS.length)),
    copy(state + FILTER_AT, get(TEMPLATE), RING_AT - FILTER_AT, FILTER_AT - REGULATOR_AT),
  );
}

/** The words of the row, each to its place. */
const putWords = all(
  set(TO, i32(PLACE.words)),
  set(FROM, get(ROW_AT)),
  during(
    less(get(TO), get(WORDS_END)),
    all(put(load(get(TO)), load(get(FROM), 4 * ROW.values)), plus(FROM, i32(4)), plus(TO, i32(4))),
  ),
);

/** How long key and request were off, only where they were. */
function offTime({ state }: Blocks, name: 'key_off_ms' | 'request_off_ms'): Code {
  const place = state + 4 * sequenceWord(name);
  const time = choose(greater(get(OFF), i32(1)), get(OFF), i32(1));
  return all(set(OFF, word(place)), putWord(place, choose(and(get(KEY), i32(bitsOf(name))), time, i32(0))));
}

/** Puts the tick on the list, unless it is one of the last two of its place. */
function list(): Code {
  const hash = xor(multiply(get(AFTER), i32(0x9e3779b1)), multiply(get(FACTS), i32(0x85ebca6b)));
  const place = shiftLeft(and(shiftRight(hash, i32(16)), i32(KNOWN - 1)), i32(3));
  const other = xor(get(FOUND), i32(8));
  const entry = multiply(word(PLACE.listed), i32(4 * LIST_WORDS));
  const added = all(
    putLong(other, loadLong(get(FOUND))),
    putLong(get(FOUND), get(SIGHTING)),
    set(TO, add(i32(PLACE.list), entry)),
    put(get(TO), get(CHOICE)),
    put(get(TO), get(AFTER), 4),
    put(get(TO), get(FACTS), 8),
    putWord(PLACE.listed, add(word(PLACE.listed), i32(1))),
  );
  // A place that was never filled holds ones, which are no key: there is no mode 15.
  const sighting = orLong(shiftLeftLong(long(get(FACTS)), 32), long(get(AFTER)));
  return all(
    set(SIGHTING, sighting),
    set(FOUND, add(i32(PLACE.known), place)),
    when(differLong(loadLong(get(FOUND)), get(SIGHTING)), when(differLong(loadLong(other), get(SIGHTING)), added)),
  );
}

/**
 * `run(rows, bytes of a row, end of the places, key)`: for each row the state of the key and of the row is put
 * together, one tick is run, and what it has led to is put on the list. @returns rows done: all, or those until the
 * list was full
 */
function batchCode(blocks: Blocks): Uint8Array<ArrayBuffer> {
  const { state, input } = blocks;
  const moving = ne(row(ROW.feed), i32(FEED_REST));
  const one = all(
    putTemplate(blocks),
    copy(state, i32(PLACE.image), sixteens(SEQUENCE_FIELDS.length)),
    putWord(state + 4 * sequenceWord('last_reading'), get(COUNTS)),
    putWords,
    offTime(blocks, 'key_off_ms'),
    offTime(blocks, 'request_off_ms'),
    set(DIGITAL_INPUTS, row(ROW.digital_inputs)),
    putWord(input + INPUT_DIGITAL, get(DIGITAL_INPUTS)),
    putWord(input + INPUT_X_STEPS, choose(moving, i32(RUNNING_STEPS), i32(0))),
    set(BEFORE, beforeCode(blocks)),
    call(0),
    set(AFTER, keyCode(blocks)),
    set(FACTS, afterCode(blocks, get(BEFORE), get(DIGITAL_INPUTS))),
    list(),
    plus(CHOICE, i32(1)),
    plus(ROW_AT, get(ROW_BYTES)),
  );
  const room = less(word(PLACE.listed), i32(LISTED));
  return moduleOf(
    PARAMETERS,
    WORD_LOCALS,
    1,
    all(
      set(ROW_AT, i32(PLACE.rows)),
      putWord(PLACE.listed, i32(0)),
      during(and(less(get(CHOICE), get(COUNT)), room), one),
      get(CHOICE),
    ),
  );
}

type Run = (rows: number, row_bytes: number, words_end: number, key: number) => number;
/** One tick: its choice, the key after it, its facts. */
export type OnSighting = (choice: number, after: number, facts: number) => void;

/**
 * Runs all choices of a state in a loop that is WebAssembly itself, in the control module's own page: the host need not
 * be asked between two ticks. What it does is what `TickRunner.step` does; a test compares the two.
 */
export class Batch {
  private readonly run: Run;
  /** The page, from its beginning. */
  private readonly page: Int32Array;
  private readonly state: number;
  /** The table whose places of words are in the page. */
  private standing: ChoiceTable | undefined;

  constructor(controller: WasmController, templates: Templates) {
    const { memory, tick } = controller.linked!;
    const { byteOffset: state, byteLength } = controller.state();
    const { byteOffset: output } = controller.output.integers;
    if (state + byteLength > MODULE_BYTES) throw new Error('the control module has outgrown its part of the page');
    const input = controller.readings.byteOffset - INPUT_READINGS;
    const compiled = new WebAssembly.Module(batchCode({ state, input, output }));
    const instance = new WebAssembly.Instance(compiled, { control: { memory, tick } } as never);
    this.run = instance.exports.run as unknown as Run;
    this.page = new Int32Array(memory.buffer);
    this.state = state;
    VOLTAGES.forEach(({ counts }, voltage) => {
      this.page[PLACE.counts / 4 + voltage] = counts;
      FEEDS.forEach((_, feed) => {
        const template = templates[voltage][feed];
        if (template.byteLength !== TEMPLATE_BYTES) throw new Error('a template has another length');
        this.page.set(template, (PLACE.templates + (voltage * FEEDS.length + feed) * TEMPLATE_BYTES) / 4);
      });
    });
  }

  /**
   * One tick from a key under each of its choices; each that differs from the others is told at least once, the first
   * first.
   */
  runAll(key: number, table: ChoiceTable, onSighting: OnSighting): void {
    const { page } = this;
    restore(key, page.subarray(PLACE.image / 4), REGULATOR_AT / 4);
    page.fill(-1, PLACE.known / 4, (PLACE.known + KNOWN_BYTES) / 4);
    // Between two batches someone else may have run ticks.
    page[PLACE.standing / 4] = 0;
    this.putPlaces(table);
    const { rows, count, width } = table;
    const most = Math.floor((PLACE.end - PLACE.rows) / 4 / width);
    const words_end = PLACE.words + 4 * (width - ROW.values);
    for (let from = 0; from < count; ) {
      const taken = Math.min(most, count - from);
      page.set(rows.subarray(from * width, (from + taken) * width), PLACE.rows / 4);
      const done = this.run(taken, 4 * width, words_end, key);
      this.tell(from, onSighting);
      from += done;
    }
  }

  private putPlaces(table: ChoiceTable): void {
    if (table === this.standing) return;
    this.standing = table;
    const { words } = table;
    for (let at = 0; at < words.length; at++) this.page[PLACE.words / 4 + at] = this.state + 4 * words[at];
  }

  private tell(from: number, onSighting: OnSighting): void {
    const { page } = this;
    const listed = page[PLACE.listed / 4];
    for (let entry = 0; entry < listed; entry++) {
      const at = PLACE.list / 4 + entry * LIST_WORDS;
      onSighting(from + page[at], page[at + 1] >>> 0, page[at + 2]);
    }
  }
}

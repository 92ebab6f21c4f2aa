// A table of choices as words for the loop in WebAssembly; apart from batch.ts, which knows no layout of these.
import {
  INPUT_BYTES,
  INPUT_DIGITAL,
  INPUT_READINGS,
  INPUT_X_STEPS,
  READINGS_PER_TICK,
} from '../../firmware/wire/layout.gen.js';
import { REGULATOR_AT } from '../../firmware/wire/state-fields.gen.js';
import { type ChoiceTable, effectOf } from './choices.js';
import type { Option } from './directions.js';
import { KEY_PARTS } from './key.js';
import { FIELD_MARKS } from './loop.js';
import { FEEDS, NOTHING, sequenceWord, type Templates } from './world.js';

// Layout of module/choice.ts, in words.
const OPTION = 16;
const OPTION_SETS_MOST = 6;
/** Columns of a row, bytes. */
const ROW = { voltage: 4, feed: 8, values: 16 } as const;

const SEQUENCE_WORDS = REGULATOR_AT / 4;

/** A table as the loop wants it, and the marks of what its options set. */
export interface Packed {
  readonly table: Int32Array;
  readonly directions: Int32Array;
  readonly options: Int32Array;
  readonly words: Int32Array;
  readonly usual: Int32Array;
  /** Of the state, of the input block, of each digital input. */
  readonly state_marks: Int32Array;
  readonly input_marks: Int32Array;
  readonly line_marks: Int32Array;
}

export function pack(table: ChoiceTable, templates: Templates): Packed {
  const { directions, firsts, on, off, words } = table;
  const places: number[] = [];
  directions.reduce((place, { length }) => {
    places.push(place);
    return place * length;
  }, 1);
  const options = directions.flat();
  const numbers = directions.map((_, at) => directions.slice(0, at).flat().length);
  return {
    table: Int32Array.of(directions.length, firsts, words.length, on, off),
    directions: Int32Array.from(directions.flatMap(({ length }, at) => [length, numbers[at], places[at]])),
    options: Int32Array.from(options.flatMap((option) => packOption(option, words))),
    words: Int32Array.from(words, (word) => 4 * word),
    usual: Int32Array.from([0, NOTHING, 0, 0, ...words.map(() => 0)]),
    ...marksOfTable(table, templates),
  };
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

// A choice: for each direction the number of an option. From these the state before a tick is put together.

import { Sequence } from '../../../firmware/control/state';
import { INPUT_READINGS, READINGS_PER_TICK } from '../../../firmware/wire/layout.gen';
import {
  copy,
  FILTER_AT,
  FILTER_BYTES,
  input,
  PROOF_AT,
  PROOF_BYTES,
  putInputs,
  REGULATOR_AT,
  REGULATOR_BYTES,
  RING_AT,
  RULER_AT,
  S,
  SEQUENCE_BYTES,
  STATE_BYTES,
  state,
} from './memory';

export const DIRECTIONS_MOST = 48;
const OPTIONS_MOST = 256;
const WORDS_MOST = 64;
const TEMPLATES_MOST = 32;

/** What the host writes about a key's directions. */
@unmanaged
export class Table {
  /** Directions, and how many of them are read whatever happens: the first ones. */
  directions: i32;
  firsts: i32;
  /** Words that any option sets. */
  words: i32;
  /** Inputs that must be on, and off, for the mode's own step to be reached: only then there are options of the last ones. */
  on: i32;
  off: i32;
}
export const TABLE = memory.data(offsetof<Table>(), 16);
export const T = changetype<Table>(TABLE);

/** Of a direction: its options, the number of the first of them, and what one of its options counts in a choice's number. */
@unmanaged
class Direction {
  options: i32;
  first: i32;
  place: i32;
}
export const DIRECTIONS = memory.data(DIRECTIONS_MOST * 12);
function direction(at: i32): Direction {
  return changetype<Direction>(DIRECTIONS + <usize>(12 * at));
}
export function optionsOf(at: i32): i32 {
  return direction(at).options;
}
export function placeOf(at: i32): i32 {
  return direction(at).place;
}

/** Of an option: inputs that it turns on, whether it raises a fault, and up to six columns of a row with their values. */
@unmanaged
class Option {
  lines: i32;
  faulting: i32;
  sets: i32;
  unused: i32;
}
const OPTION_BYTES = 64;
export const OPTIONS = memory.data(OPTION_BYTES * OPTIONS_MOST, 16);
function option(direction_at: i32, at: i32): Option {
  return changetype<Option>(OPTIONS + <usize>(OPTION_BYTES * (direction(direction_at).first + at)));
}

/** Places in the state, in bytes, of the words of a row. */
export const WORDS = memory.data(4 * WORDS_MOST, 16);
/** A row: inputs, voltage, feed, then the words. */
const ROW_WORDS = 4 + WORDS_MOST;
const ROW = memory.data(4 * ROW_WORDS, 16);
/** The row of a box to which nothing happens. */
export const USUAL = memory.data(4 * ROW_WORDS, 16);
const ROW_LINES: usize = 0;
const ROW_VOLTAGE: usize = 4;
const ROW_FEED: usize = 8;
const ROW_VALUES: usize = 16;

/** The sequence before every tick of a key; for each voltage and feed what stands behind it; the count of each voltage. */
export const IMAGE = memory.data(256, 16);
const TEMPLATE_BYTES = <i32>(STATE_BYTES - REGULATOR_AT);
// A state that outgrows its place stops the build.
if (STATE_BYTES - REGULATOR_AT > 3008) ERROR('a template is larger than its place');
export const TEMPLATES = memory.data(TEMPLATES_MOST * 3008, 16);
export const COUNTS = memory.data(4 * TEMPLATES_MOST, 16);
/** Templates of a voltage; steps of a running X in a tick. */
let feeds: i32 = 1;
let running_steps: i32 = 0;
export function setFeeds(count: i32, steps: i32): void {
  feeds = count;
  running_steps = steps;
}
/** The template whose ring stands in the state; 0: none. */
let standing: usize = 0;

/** The option of each direction. */
export const DIGITS = memory.data(4 * DIRECTIONS_MOST, 16);
export function digit(at: i32): i32 {
  return load<i32>(DIGITS + <usize>(4 * at));
}
export function setDigit(at: i32, value: i32): void {
  store<i32>(DIGITS + <usize>(4 * at), value);
}

/** The number of the choice. */
export function choiceNumber(): i32 {
  let number = 0;
  for (let at = 0; at < T.directions; at++) number += digit(at) * placeOf(at);
  return number;
}

export function setChoice(number: i32): void {
  for (let at = 0; at < T.directions; at++) {
    const options = optionsOf(at);
    setDigit(at, number % options);
    number /= options;
  }
}

/** Whether the choice exists: where the tick does not get to the mode's own step there are no options of the last directions. */
export function exists(): bool {
  let last = false;
  for (let at = T.firsts; at < T.directions; at++) if (digit(at) != 0) last = true;
  return !last || reachesStep();
}

export function reachesStep(): bool {
  let lines = 0;
  for (let at = 0; at < T.firsts; at++) {
    const chosen = option(at, digit(at));
    if (chosen.faulting) return false;
    lines |= chosen.lines;
  }
  return (lines & T.on) == T.on && (lines & T.off) == 0;
}

/** The row of the choice: of several options the later ones have the last word. */
function writeRow(): void {
  copy(ROW, USUAL, (ROW_VALUES + 4 * <usize>T.words + 15) & ~15);
  let lines = 0;
  for (let at = 0; at < T.directions; at++) {
    const chosen = option(at, digit(at));
    lines |= chosen.lines;
    const sets = changetype<usize>(chosen) + offsetof<Option>();
    const end = sets + <usize>(8 * chosen.sets);
    for (let set = sets; set < end; set += 8) store<i32>(ROW + load<u32>(set), load<i32>(set, 4));
  }
  store<i32>(ROW + ROW_LINES, lines);
}

export function rowLines(): i32 {
  return load<i32>(ROW + ROW_LINES);
}

/** The words of the row, each to its place; and how long key and request were off, only where they were. */
function putWords(): void {
  for (let word: usize = 0; word < <usize>T.words; word++) {
    store<i32>(state + load<u32>(WORDS + 4 * word), load<i32>(ROW + ROW_VALUES + 4 * word));
  }
  const s = S();
  const was = changetype<Sequence>(IMAGE);
  s.key_off_ms = was.key_off_ms > 0 ? max(s.key_off_ms, 1) : 0;
  s.request_off_ms = was.request_off_ms > 0 ? max(s.request_off_ms, 1) : 0;
}

/** Between two batches someone else may have run ticks. */
export function forgetStanding(): void {
  standing = 0;
}

/** A tick does not change ring and history of a steady voltage: they are put back only where another one stood. */
function putTemplate(voltage: i32, feed: i32, counts: i32): void {
  const template = TEMPLATES + <usize>((voltage * feeds + feed) * TEMPLATE_BYTES);
  if (template != standing) {
    standing = template;
    copy(state + RING_AT, template + RING_AT - REGULATOR_AT, <usize>TEMPLATE_BYTES - (RING_AT - REGULATOR_AT));
    const two = counts | (counts << 16);
    for (let at: usize = 0; at < 2 * READINGS_PER_TICK; at += 4) store<i32>(input + INPUT_READINGS + at, two);
  }
  copy(state + REGULATOR_AT, template, REGULATOR_BYTES);
  copy(state + FILTER_AT, template + FILTER_AT - REGULATOR_AT, FILTER_BYTES);
  copy(state + PROOF_AT, template + PROOF_AT - REGULATOR_AT, PROOF_BYTES);
  copy(state + RULER_AT, template + RULER_AT - REGULATOR_AT, STATE_BYTES - RULER_AT);
}

/** Puts together the state and the input before the tick of the choice. */
export function putChoice(): void {
  writeRow();
  const voltage = load<i32>(ROW + ROW_VOLTAGE);
  const feed = load<i32>(ROW + ROW_FEED);
  const counts = load<i32>(COUNTS + <usize>(4 * voltage));
  putTemplate(voltage, feed, counts);
  copy(state, IMAGE, SEQUENCE_BYTES);
  S().last_reading = counts;
  putWords();
  putInputs(rowLines(), feed == 0 ? 0 : running_steps);
}

/** The same, as far as what is said before a tick asks for it: after `putChoice` for a choice of the same key. */
export function putSaid(): void {
  writeRow();
  putWords();
}

/** The sequence as the key of the batch has it. */
export function putKey(): void {
  copy(state, IMAGE, SEQUENCE_BYTES);
}

import { sequenceWord } from './world.js';

/**
 * What of the sequence is remembered from tick to tick, packed into 32 bits. Timers and Z are not: the exploration
 * chooses them again before every tick, so every duration and every height is covered.
 */
interface KeyField {
  readonly name: Parameters<typeof sequenceWord>[0];
  readonly bits: number;
  /** Only whether it is above 0. */
  readonly flag?: boolean;
}

export const KEY_FIELDS: readonly KeyField[] = [
  { name: 'mode', bits: 4 },
  { name: 'stage', bits: 4 },
  { name: 'hold', bits: 3 },
  { name: 'fault', bits: 5 },
  { name: 'owned', bits: 1 },
  { name: 'trigger', bits: 1 },
  { name: 'permit', bits: 1 },
  { name: 'latched_stop', bits: 1 },
  { name: 'homed', bits: 1 },
  { name: 'armed', bits: 1 },
  { name: 'request_was_off', bits: 1 },
  { name: 'touched_off', bits: 1 },
  { name: 'strikes', bits: 2 },
  { name: 'permit_was_given', bits: 1 },
  { name: 'arc_ok', bits: 1 },
  { name: 'no_load_seen', bits: 1 },
  { name: 'voltage_seen', bits: 1 },
  { name: 'key_off_ms', bits: 1, flag: true },
  { name: 'request_off_ms', bits: 1, flag: true },
];
if (KEY_FIELDS.reduce((sum, { bits }) => sum + bits, 0) > 32) throw new Error('the key has more than 32 bits');

/** Where a field is in the sequence, in words, and in a key. */
export interface Placed {
  readonly word: number;
  readonly shift: number;
  readonly most: number;
  readonly flag: boolean;
}

/** The part of a key that each field is. */
export const KEY_PARTS: readonly Placed[] = KEY_FIELDS.map(({ name, bits, flag }, index) => ({
  word: sequenceWord(name),
  shift: KEY_FIELDS.slice(0, index).reduce((sum, field) => sum + field.bits, 0),
  most: 2 ** bits - 1,
  flag: flag === true,
}));

// Written out, where a loop over the fields would do: both run for every transition. A test compares them with the
// rows.
const MODE = sequenceWord('mode');
const STAGE = sequenceWord('stage');
const HOLD = sequenceWord('hold');
const FAULT = sequenceWord('fault');
const OWNED = sequenceWord('owned');
const TRIGGER = sequenceWord('trigger');
const PERMIT = sequenceWord('permit');
const LATCHED_STOP = sequenceWord('latched_stop');
const HOMED = sequenceWord('homed');
const ARMED = sequenceWord('armed');
const REQUEST_WAS_OFF = sequenceWord('request_was_off');
const TOUCHED_OFF = sequenceWord('touched_off');
const STRIKES = sequenceWord('strikes');
const PERMIT_WAS_GIVEN = sequenceWord('permit_was_given');
const ARC_OK = sequenceWord('arc_ok');
const NO_LOAD_SEEN = sequenceWord('no_load_seen');
const VOLTAGE_SEEN = sequenceWord('voltage_seen');
const KEY_OFF_MS = sequenceWord('key_off_ms');
const REQUEST_OFF_MS = sequenceWord('request_off_ms');

/** The key of the state in the region; `fits` says whether its values fit. */
export function keyOf(words: Int32Array): number {
  return (
    (words[MODE] |
      (words[STAGE] << 4) |
      (words[HOLD] << 8) |
      (words[FAULT] << 11) |
      (words[OWNED] << 16) |
      (words[TRIGGER] << 17) |
      (words[PERMIT] << 18) |
      (words[LATCHED_STOP] << 19) |
      (words[HOMED] << 20) |
      (words[ARMED] << 21) |
      (words[REQUEST_WAS_OFF] << 22) |
      (words[TOUCHED_OFF] << 23) |
      (words[STRIKES] << 24) |
      (words[PERMIT_WAS_GIVEN] << 26) |
      (words[ARC_OK] << 27) |
      (words[NO_LOAD_SEEN] << 28) |
      (words[VOLTAGE_SEEN] << 29) |
      (words[KEY_OFF_MS] > 0 ? 1073741824 : 0) |
      (words[REQUEST_OFF_MS] > 0 ? 0x80000000 : 0)) >>>
    0
  );
}

/** Every remembered value is within its bits. */
export function fits(words: Int32Array): boolean {
  return KEY_PARTS.every(({ word, most, flag }) => flag || (words[word] >= 0 && words[word] <= most));
}

/** Writes the remembered fields of a key into the region; everything else of the sequence becomes 0. */
export function restore(key: number, words: Int32Array, sequence_words: number): void {
  words.fill(0, 0, sequence_words);
  words[MODE] = key & 15;
  words[STAGE] = (key >>> 4) & 15;
  words[HOLD] = (key >>> 8) & 7;
  words[FAULT] = (key >>> 11) & 31;
  words[OWNED] = (key >>> 16) & 1;
  words[TRIGGER] = (key >>> 17) & 1;
  words[PERMIT] = (key >>> 18) & 1;
  words[LATCHED_STOP] = (key >>> 19) & 1;
  words[HOMED] = (key >>> 20) & 1;
  words[ARMED] = (key >>> 21) & 1;
  words[REQUEST_WAS_OFF] = (key >>> 22) & 1;
  words[TOUCHED_OFF] = (key >>> 23) & 1;
  words[STRIKES] = (key >>> 24) & 3;
  words[PERMIT_WAS_GIVEN] = (key >>> 26) & 1;
  words[ARC_OK] = (key >>> 27) & 1;
  words[NO_LOAD_SEEN] = (key >>> 28) & 1;
  words[VOLTAGE_SEEN] = (key >>> 29) & 1;
  words[KEY_OFF_MS] = (key >>> 30) & 1;
  words[REQUEST_OFF_MS] = (key >>> 31) & 1;
}

type Name = (typeof KEY_FIELDS)[number]['name'];
const INDEX = new Map(KEY_FIELDS.map(({ name }, index) => [name as string, index]));

/** One field of a key. */
export function fieldOf(key: number, name: Name): number {
  const { shift, most } = KEY_PARTS[INDEX.get(name)!];
  return (key >>> shift) & most;
}

/** The bits that some fields take in a key. */
export function bitsOf(...names: readonly Name[]): number {
  return names.reduce((bits, name) => {
    const { shift, most } = KEY_PARTS[INDEX.get(name)!];
    return bits | (most << shift);
  }, 0);
}

export const on = (key: number, name: Name) => fieldOf(key, name) !== 0;
export const goesOn = (before: number, after: number, name: Name) => !on(before, name) && on(after, name);
export const goesOff = (before: number, after: number, name: Name) => on(before, name) && !on(after, name);
export const modeOf = (key: number) => fieldOf(key, 'mode');
export const stageOf = (key: number) => fieldOf(key, 'stage');
/** A mode that was not there before. */
export const entered = (before: number, after: number, mode: number) =>
  modeOf(before) !== mode && modeOf(after) === mode;
export const within = (key: number, first: number, last: number) => modeOf(key) >= first && modeOf(key) <= last;

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
  { name: 'proved', bits: 1 },
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

/** The key of the state in the region; `fits` says whether its values fit. */
export function keyOf(words: Int32Array): number {
  let key = 0;
  for (const { word, shift, flag } of KEY_PARTS) key |= (flag ? Number(words[word] > 0) : words[word]) << shift;
  return key >>> 0;
}

/** Every remembered value is within its bits. */
export function fits(words: Int32Array): boolean {
  return KEY_PARTS.every(({ word, most, flag }) => flag || (words[word] >= 0 && words[word] <= most));
}

/** Writes the remembered fields of a key into the region; everything else of the sequence becomes 0. */
export function restore(key: number, words: Int32Array, sequence_words: number): void {
  words.fill(0, 0, sequence_words);
  for (const { word, shift, most } of KEY_PARTS) words[word] = (key >>> shift) & most;
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

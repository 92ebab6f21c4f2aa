// The exploration's loop, in the memory of the control module that it explores, or of the tracked copy of that: the host need
// not be asked between two ticks.

import {
  forgetStanding,
  optionsOf,
  putChoice,
  reachesStep,
  rowLines,
  setChoice,
  setDigit,
  setFeeds,
  T,
} from './choice';
import { tick } from './control';
import { after, before, key, setKeyRows, together, unsaid } from './facts';
import { addSighting, forgetSightings } from './found';
import { findBlocks } from './memory';
import { skipAll } from './skip';

export { COUNTS, DIRECTIONS, IMAGE, OPTIONS, TABLE, TEMPLATES, USUAL, WORDS } from './choice';
export { before, KEY_ROWS, key } from './facts';
export { SIGHTINGS, sightings } from './found';
export { find_marks, looked_at, MARK_IMAGE } from './skip';

export function find_blocks(state: usize, input: usize, output: usize, parameters: usize): void {
  findBlocks(state, input, output, parameters);
}

export function set_up(key_rows: i32, feeds: i32, running_steps: i32): void {
  setKeyRows(key_rows);
  setFeeds(feeds, running_steps);
}

/** All facts of a tick that was run. @param said what `before` has said before it */
export function facts(said: i32, lines: i32): i32 {
  return together(said, lines, after(), unsaid());
}

function begin(): void {
  forgetSightings();
  forgetStanding();
}

/** Every choice of a key with as few ticks as it takes; only on a tracked copy. @param fields marks that are of fields of the key */
export function skip(fields: u32): i32 {
  begin();
  return skipAll(fields);
}

// Every choice of a key, one tick each: for the guard, for a module without a tracked copy, and to hold the other to.

function run(choice: i32): void {
  putChoice();
  const said = before();
  tick();
  addSighting(choice, key(), together(said, rowLines(), after(), unsaid()), 0);
}

/** All choices that exist of the key and the table that the host has written. @returns the ticks run */
export function walk(): i32 {
  begin();
  const firsts = choicesOf(0, T.firsts);
  const all = firsts * choicesOf(T.firsts, T.directions);
  let ticks = 0;
  for (let first = 0; first < firsts; first++) {
    for (let choice = first; choice < all; choice += firsts) {
      setChoice(choice);
      run(choice);
      ticks++;
      if (!reachesStep()) break;
    }
  }
  return ticks;
}

function choicesOf(from: i32, to: i32): i32 {
  let product = 1;
  for (let at = from; at < to; at++) product *= optionsOf(at);
  return product;
}

/** Choices that were drawn: a byte for each direction. */
export const DRAWN = memory.data(65_536, 16);

/** @param count of the choices drawn; each goes by its place among them */
export function walk_drawn(count: i32): void {
  begin();
  for (let choice = 0; choice < count; choice++) {
    const digits = DRAWN + <usize>(choice * T.directions);
    for (let at = 0; at < T.directions; at++) setDigit(at, load<u8>(digits + <usize>at));
    run(choice);
  }
}

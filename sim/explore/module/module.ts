// The exploration's loop, in the memory of the control module that it explores, or of the tracked copy of that: the host need
// not be asked between two ticks.

import { forgetStanding, setFeeds } from './choice';
import { after, setKeyRows, together, unsaid } from './facts';
import { forgetSightings } from './found';
import { findBlocks } from './memory';
import { skipAll } from './skip';
import { walkAll, walkDrawn } from './walk';

export { COUNTS, DIRECTIONS, IMAGE, OPTIONS, TABLE, TEMPLATES, USUAL, WORDS } from './choice';
export { before, KEY_ROWS, key } from './facts';
export { SIGHTINGS, sightings } from './found';
export { find_marks, looked_at, MARK_IMAGE } from './skip';
export { DRAWN } from './walk';

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

/** All choices of the key and the table that the host has written. @returns the ticks run */
export function walk(): i32 {
  begin();
  return walkAll();
}
export function walk_drawn(count: i32): void {
  begin();
  walkDrawn(count);
}
/** The same with as few ticks as it takes; only on a tracked copy. @param fields marks that are of fields of the key */
export function skip(fields: u32): i32 {
  begin();
  return skipAll(fields);
}

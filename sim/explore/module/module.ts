// The exploration's loop, in the memory of the control module that it explores, or of the tracked copy of that: the host need
// not be asked between two ticks.

import { forgetStanding } from './choice';
import { after, together, unsaid } from './facts';
import { forgetSightings } from './found';
import { findBlocks } from './memory';
import { skipAll } from './skip';
import { walkAll, walkDrawn } from './walk';

export {
  counts_at,
  directions_at,
  image_at,
  options_at,
  set_running_steps,
  table_at,
  templates_at,
  usual_at,
  words_at,
} from './choice';
export { before, key, key_rows_at } from './facts';
export { sightings, sightings_at } from './found';
export { find_marks, looked_at, mark_image_at } from './skip';
export { drawn_at } from './walk';

export function find_blocks(state: usize, input: usize, output: usize, parameters: usize): void {
  findBlocks(state, input, output, parameters);
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

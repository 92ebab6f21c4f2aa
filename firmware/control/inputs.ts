// Digital inputs: switches through the integrating debounce, edges, arming. Key, request and stop chain are
// read raw: their loss must act in the same tick.

import {
  INPUT_BREAKAWAY,
  INPUT_DIGITAL,
  INPUT_HOLD,
  INPUT_KEY,
  INPUT_REFERENCE,
  INPUT_REQUEST,
  INPUT_REST,
  INPUT_TOP,
  INPUT_TOUCH,
  REFERENCE_COUNTS,
} from '../wire/layout.gen';
import { INPUT, S } from './state';

/** Ticks a switch must prevail. */
const SWITCH_TICKS = 3;

/**
 * Integrating debounce after K. Kuhn (published code): the count goes up while the input is 1 and down while it is 0; the output
 * changes only when an end is reached. @returns the new count, 0…maximum, after one reading of the input
 */
export function integrate(count: i32, input: bool, up: i32, down: i32, maximum: i32): i32 {
  if (input) return count + up > maximum ? maximum : count + up;
  return count < down ? 0 : count - down;
}

/** @returns the new output: 1 at the maximum, 0 at 0, else what it was. */
export function decide(output: i32, count: i32, maximum: i32): i32 {
  return count >= maximum ? 1 : count <= 0 ? 0 : output;
}

export function digital_inputs(): i32 {
  return load<i32>(INPUT + INPUT_DIGITAL);
}

export function line(mask: i32): bool {
  return (digital_inputs() & mask) != 0;
}

export function readSwitches(): void {
  S.touch_count = integrate(S.touch_count, line(INPUT_TOUCH), 1, 1, SWITCH_TICKS);
  S.touch = decide(S.touch, S.touch_count, SWITCH_TICKS);
  S.breakaway_count = integrate(S.breakaway_count, line(INPUT_BREAKAWAY), 1, 1, SWITCH_TICKS);
  S.breakaway = decide(S.breakaway, S.breakaway_count, SWITCH_TICKS);
  S.top_count = integrate(S.top_count, line(INPUT_TOP), 1, 1, SWITCH_TICKS);
  S.top = decide(S.top, S.top_count, SWITCH_TICKS);
  S.external_count = integrate(S.external_count, line(INPUT_HOLD), 1, 1, SWITCH_TICKS);
  S.external = decide(S.external, S.external_count, SWITCH_TICKS);
}

/**
 * Key and request act at once when they go off, but count as taken back only after this long without a break: a contact
 * that opens for a moment must neither arm a box that booted with the key on, nor strike again in the same contour.
 */
const TAKEN_BACK_TICKS = 30;

function offTime_ms(mask: i32, before: i32): i32 {
  return line(mask) ? 0 : before < TAKEN_BACK_TICKS ? before + 1 : TAKEN_BACK_TICKS;
}

/**
 * A box that boots with the key on stays disarmed until it is cycled, and so does one whose outputs rested meanwhile; a
 * request must be seen off in between.
 */
export function readArming(): void {
  if (!line(INPUT_KEY) || line(INPUT_REST)) S.armed = 0;
  else if (S.key_off_ms >= TAKEN_BACK_TICKS) S.armed = 1;
  S.key_off_ms = offTime_ms(INPUT_KEY, S.key_off_ms);
  S.request_off_ms = offTime_ms(INPUT_REQUEST, S.request_off_ms);
  if (S.request_off_ms >= TAKEN_BACK_TICKS) S.request_was_off = 1;
  // Only the top switch itself tells where Z is; it counts while Z belongs to the motion controller.
  if (S.top && !S.owned) S.homed = 1;
}

/**
 * Two resistors of 1 % and the converter's own error (a few counts) stay far inside; a converter that is dead, stuck or
 * looks at the other channel does not.
 */
const WITHIN_COUNTS = 82;
/** So many ticks with a wrong reference, and no reading is believed until as many were right again. */
const REFERENCE_TICKS = 5;

/** Whether the converter can be believed: its second channel reads half of the board's own reference. */
export function readReference(): void {
  const off = <i32>load<u16>(INPUT + INPUT_REFERENCE) - REFERENCE_COUNTS;
  const wrong = off > WITHIN_COUNTS || off < -WITHIN_COUNTS;
  S.reference_count = integrate(S.reference_count, wrong, 1, 1, REFERENCE_TICKS);
  S.converter_dead = decide(S.converter_dead, S.reference_count, REFERENCE_TICKS);
}

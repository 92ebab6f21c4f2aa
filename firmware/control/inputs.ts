// Digital inputs: switches through the integrating debounce, edges, arming. Key, request and stop chain are
// read raw: their loss must act in the same tick.

import {
  INPUT_BREAKAWAY,
  INPUT_DIGITAL,
  INPUT_HOLD,
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_REST,
  INPUT_TOP,
  INPUT_TOUCH,
} from '../wire/layout.gen';
import { decide, integrate, SWITCH_TICKS } from './debounce';
import { INPUT, S } from './state';

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

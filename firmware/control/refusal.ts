// Why a torch request is not taken in rest; while a fault is latched, that fault is the reason (see raise).

import {
  REFUSAL_BREAKAWAY,
  REFUSAL_KEY,
  REFUSAL_NONE,
  REFUSAL_NOT_HOMED,
  REFUSAL_PARAMETERS,
  REFUSAL_REQUEST_HELD,
  REFUSAL_STOP_CHAIN,
  REFUSAL_VOLTAGE,
} from '../wire/codes.gen';
import { LINE_REQUEST, LINE_STOP_CHAIN, Z_STEPS_PER_TICK } from '../wire/layout';
import { nearZero } from './arc';
import { line } from './inputs';
import { P, S } from './state';

/** The board puts out no more: Z would go on after it was told to stop. */
const MOST_STEPS_PER_S: f32 = <f32>1000 * <f32>Z_STEPS_PER_TICK;

/** @returns the first reason against a start, or REFUSAL_NONE. */
export function refusal(): i32 {
  if (!line(LINE_STOP_CHAIN)) return REFUSAL_STOP_CHAIN;
  if (!S.armed) return REFUSAL_KEY;
  if (!S.breakaway) return REFUSAL_BREAKAWAY;
  if (!S.homed) return REFUSAL_NOT_HOMED;
  if (!nearZero()) return REFUSAL_VOLTAGE;
  if (!consistent()) return REFUSAL_PARAMETERS;
  if (line(LINE_REQUEST) && !S.request_was_off) return REFUSAL_REQUEST_HELD;
  return REFUSAL_NONE;
}

/** Relations between parameters that each alone is inside its range. */
function consistent(): bool {
  return (
    P.rest_V < P.arc_low_V &&
    P.arc_low_V < P.target_V &&
    P.target_V < P.transfer_V &&
    P.transfer_V <= P.arc_high_V &&
    P.cut_height_mm <= P.pierce_height_mm &&
    P.seek_slow_mm_s <= P.seek_fast_mm_s &&
    P.seek_travel_mm <= P.travel_mm &&
    P.follow_down_mm_s <= P.z_velocity_mm_s &&
    P.z_velocity_mm_s * P.z_steps_per_mm <= MOST_STEPS_PER_S
  );
}

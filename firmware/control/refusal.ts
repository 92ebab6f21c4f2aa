// Why a torch request is not taken in rest; while a fault is latched, that fault is the reason (see raise).

import {
  REFUSAL_BREAKAWAY,
  REFUSAL_KEY,
  REFUSAL_NONE,
  REFUSAL_NOT_HOMED,
  REFUSAL_PARAMETERS,
  REFUSAL_REQUEST_HELD,
  REFUSAL_RESTING,
  REFUSAL_STOP_CHAIN,
  REFUSAL_VOLTAGE,
} from '../wire/codes.gen';
import { INPUT_REQUEST, INPUT_REST, INPUT_STOP_CHAIN } from '../wire/layout.gen';
import { nearZero } from './arc';
import { firstContradiction } from './derived';
import { line } from './inputs';
import { S } from './state';

/** @returns the first reason against a start, or REFUSAL_NONE. */
export function refusal(): i32 {
  if (line(INPUT_REST)) return REFUSAL_RESTING;
  if (!line(INPUT_STOP_CHAIN)) return REFUSAL_STOP_CHAIN;
  if (!S.armed) return REFUSAL_KEY;
  if (!S.breakaway) return REFUSAL_BREAKAWAY;
  if (!S.homed) return REFUSAL_NOT_HOMED;
  if (!nearZero()) return REFUSAL_VOLTAGE;
  if (firstContradiction() != 0) return REFUSAL_PARAMETERS;
  if (line(INPUT_REQUEST) && !S.request_was_off) return REFUSAL_REQUEST_HELD;
  return REFUSAL_NONE;
}

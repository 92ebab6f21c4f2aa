// The control module. Once a millisecond the host fills the input block, calls tick(), and takes the output block.
// No clock, no I/O, no allocation, no import: the same inputs give the same bytes out on every engine.

import { MODE_REST, PARAMETER_COUNT, PARAMETER_TRIM_V } from '../wire/codes.gen';
import {
  FLAG_ACCELERATION_LIMITED,
  FLAG_ARC_OK,
  FLAG_CONVERTER_DEAD,
  FLAG_HOMED,
  FLAG_NEAR_ZERO,
  FLAG_SPIKE,
  FLAG_TARGET_KEPT,
  FLAG_VELOCITY_LIMITED,
  INPUT_KEY,
  INPUT_RESET,
  LAYOUT,
  OUTPUT_DIGITAL,
  OUTPUT_FAULT,
  OUTPUT_FAULT_READING_V,
  OUTPUT_FEED_EFFECT_V,
  OUTPUT_FLAGS,
  OUTPUT_FOUND_DEVIATION_MM,
  OUTPUT_FOUND_TARGET_V,
  OUTPUT_HOLD,
  OUTPUT_LATCHED_STOP,
  OUTPUT_MEASURED_ERROR_MM,
  OUTPUT_MEASURED_FEED_MM_S,
  OUTPUT_MEASURED_V,
  OUTPUT_MODE,
  OUTPUT_PERMIT,
  OUTPUT_PROOF_SLOPE_V_PER_MM,
  OUTPUT_REFUSAL,
  OUTPUT_SLOPE_X,
  OUTPUT_SLOPE_Y,
  OUTPUT_STAGE,
  OUTPUT_TARGET_V,
  OUTPUT_TICK_V,
  OUTPUT_TRIGGER,
  OUTPUT_Z,
  OUTPUT_Z_OWNED,
  OUTPUT_Z_STEPS,
  OUTPUT_Z_VELOCITY_MM_S,
  SET_DONE,
  SET_NOT_NOW,
  SET_RANGE,
  SET_UNKNOWN,
} from '../wire/layout.gen';
import { nearZero, readArc, readLevel } from './arc';
import { ACCELERATION_LIMITED, VELOCITY_LIMITED } from './axis';
import { derive, firstContradiction } from './derived';
import { checkAlways, latchesStop, raise } from './faults';
import { readFeed } from './feed';
import { readVoltage, resetFilter } from './filter';
import { guard } from './guard';
import { line, readArming, readReference, readSwitches } from './inputs';
import { updateError } from './regulator';
import { deviation_mm, measureArc } from './ruler/cycle';
import { sequenceStep } from './sequence';
import { F, INPUT, OUTPUT, PARAMETERS, R, S, STATE, STATE_BYTES } from './state';
import { DEFAULTS, INTEGERS, MAXIMA, MINIMA } from './table.gen';
import { boundedTrim_V, startFromParameters, updateTarget } from './target';

/** Of which blocks and codes it was built; a host that was built of others refuses it. */
export function layout(): i32 {
  return LAYOUT;
}
/** Where the host writes inputs, reads outputs, and finds the parameters and the state. */
export function input(): usize {
  return INPUT;
}
export function output(): usize {
  return OUTPUT;
}
export function parameters(): usize {
  return PARAMETERS;
}
export function state(): usize {
  return STATE;
}
export function state_bytes(): usize {
  return STATE_BYTES;
}

/** Power-up: nothing remembered but the parameters. */
export function power_up(): void {
  for (let at: usize = 0; at < STATE_BYTES; at += 4) store<i32>(STATE + at, 0);
  S.last_reading = -1;
  relearn();
}

/**
 * A restart without a loss of power: it does not end a fault that sets the latched stop.
 * @param fault that the module stood in before, FAULT_*; what is no such fault, or none at all, is a power-up
 */
export function restart(fault: i32): void {
  power_up();
  if (latchesStop(fault)) raise(fault);
}

/** All parameters to their defaults, then power-up. */
export function load_defaults(): void {
  for (let id = 0; id < PARAMETER_COUNT; id++) {
    const at = (<usize>id) << 2;
    store<f32>(PARAMETERS + at, load<f32>(DEFAULTS + at));
  }
  power_up();
}

/** What follows from the parameters and is learned again when they change. */
function relearn(): void {
  derive();
  resetFilter();
  readLevel();
  startFromParameters();
}

/** @returns SET_DONE, or why the parameter is as it was. */
export function set_parameter(id: i32, value: f32): i32 {
  if (id < 0 || id >= PARAMETER_COUNT) return SET_UNKNOWN;
  const at = (<usize>id) << 2;
  // Written so that NaN is refused too.
  if (!(value >= load<f32>(MINIMA + at) && value <= load<f32>(MAXIMA + at))) return SET_RANGE;
  if (load<u8>(INTEGERS + <usize>id) && value != nearest<f32>(value)) return SET_RANGE;
  // −0 is 0: magnitudes are compared by their bits.
  if (value == 0) value = 0;
  if (id == PARAMETER_TRIM_V) {
    store<f32>(PARAMETERS + at, value);
    return SET_DONE;
  }
  if (line(INPUT_KEY) || S.mode != MODE_REST || !nearZero()) return SET_NOT_NOW;
  store<f32>(PARAMETERS + at, value);
  relearn();
  return SET_DONE;
}

/**
 * Ids of two parameters that contradict each other, the first in the upper 16 bits; 0: none do. Asks the input block for what
 * the board can put out.
 */
export function contradiction(): i32 {
  return firstContradiction();
}

/** The trim in force, V: trim_V, but never so low that the target falls below the least standoff. */
export function trim_in_force(): f32 {
  return boundedTrim_V();
}

export function tick(): void {
  S.z_steps = 0;
  S.limits = 0;
  readSwitches();
  readArming();
  readReference();
  readVoltage();
  readLevel();
  readFeed();
  readArc();
  measureArc();
  updateTarget();
  updateError();
  checkAlways();
  sequenceStep();
  guard();
  S.reset_before = line(INPUT_RESET) ? 1 : 0;
  publish();
}

function publish(): void {
  store<i32>(OUTPUT + OUTPUT_Z_STEPS, S.z_steps);
  store<i32>(
    OUTPUT + OUTPUT_DIGITAL,
    (S.trigger ? OUTPUT_TRIGGER : 0) |
      (S.permit ? OUTPUT_PERMIT : 0) |
      (S.latched_stop ? OUTPUT_LATCHED_STOP : 0) |
      (S.owned ? OUTPUT_Z_OWNED : 0),
  );
  store<i32>(OUTPUT + OUTPUT_MODE, S.mode);
  store<i32>(OUTPUT + OUTPUT_STAGE, S.stage);
  store<i32>(OUTPUT + OUTPUT_HOLD, S.hold);
  store<i32>(OUTPUT + OUTPUT_FAULT, S.fault);
  store<i32>(OUTPUT + OUTPUT_REFUSAL, S.refusal);
  store<i32>(OUTPUT + OUTPUT_Z, S.z);
  store<f32>(OUTPUT + OUTPUT_FAULT_READING_V, R.fault_reading_V);
  store<f32>(OUTPUT + OUTPUT_MEASURED_V, F.mean_V);
  store<f32>(OUTPUT + OUTPUT_TARGET_V, R.target_V);
  store<f32>(OUTPUT + OUTPUT_MEASURED_ERROR_MM, R.error_filtered_mm);
  store<f32>(OUTPUT + OUTPUT_Z_VELOCITY_MM_S, R.velocity_mm_s);
  store<f32>(OUTPUT + OUTPUT_MEASURED_FEED_MM_S, R.feed_mm_s);
  store<f32>(OUTPUT + OUTPUT_SLOPE_X, R.slope_x);
  store<f32>(OUTPUT + OUTPUT_SLOPE_Y, R.slope_y);
  store<f32>(OUTPUT + OUTPUT_FEED_EFFECT_V, R.feed_effect_V);
  store<f32>(OUTPUT + OUTPUT_FOUND_TARGET_V, R.base_target_V);
  store<f32>(OUTPUT + OUTPUT_FOUND_DEVIATION_MM, deviation_mm());
  store<f32>(OUTPUT + OUTPUT_TICK_V, F.tick_V);
  store<f32>(OUTPUT + OUTPUT_PROOF_SLOPE_V_PER_MM, R.proof_slope_V_per_mm);
  store<i32>(
    OUTPUT + OUTPUT_FLAGS,
    (S.arc_ok ? FLAG_ARC_OK : 0) |
      (S.homed ? FLAG_HOMED : 0) |
      (S.limits & VELOCITY_LIMITED ? FLAG_VELOCITY_LIMITED : 0) |
      (S.limits & ACCELERATION_LIMITED ? FLAG_ACCELERATION_LIMITED : 0) |
      (S.target_kept ? FLAG_TARGET_KEPT : 0) |
      (F.spiked ? FLAG_SPIKE : 0) |
      (nearZero() ? FLAG_NEAR_ZERO : 0) |
      (S.converter_dead ? FLAG_CONVERTER_DEAD : 0),
  );
}

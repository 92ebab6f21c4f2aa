// Z: velocity and acceleration limits, positions to go to, and whole steps out of fractions of steps.
// Up is positive; z counts steps since the box took Z over.

import { MODE_LIFT } from '../wire/codes.gen';
import { absolute, clamp, TICK_S, wholeSteps } from './numbers';
import { P, R, S } from './state';

/** Bits of S.limits in this tick. */
export const VELOCITY_LIMITED = 1;
export const ACCELERATION_LIMITED = 2;

/** Moves the commanded velocity towards `wanted_mm_s`, no harder than the acceleration limit. */
export function accelerate(wanted_mm_s: f32): void {
  const most = P.z_acceleration_mm_s2 * TICK_S;
  const change = wanted_mm_s - R.velocity_mm_s;
  if (absolute(change) > most) {
    R.velocity_mm_s += change > 0 ? most : -most;
    S.limits |= ACCELERATION_LIMITED;
  } else {
    R.velocity_mm_s = wanted_mm_s;
  }
}

/**
 * Turns the velocity of this tick into whole steps; the fraction is kept, so none is lost. With `play_steps` the
 * output is the command through a play of ± that many steps: noise does not turn Z round.
 */
export function emit(play_steps: f32): void {
  R.pending += R.velocity_mm_s * TICK_S * P.z_steps_per_mm;
  if (R.pending > play_steps) S.z_steps = wholeSteps(R.pending - play_steps);
  else if (R.pending < -play_steps) S.z_steps = wholeSteps(R.pending + play_steps);
  else S.z_steps = 0;
  R.pending -= <f32>S.z_steps;
}

/**
 * When following ends: what the play has kept back is dropped. Emitted at once by the next kind of move it would be
 * a jump of several steps in one tick.
 */
export function dropFraction(): void {
  R.pending = 0;
}

/** Slows down to a stop. @returns true once Z stands still. */
export function stop(): bool {
  if (R.velocity_mm_s == 0) {
    S.z_steps = 0;
    return true;
  }
  accelerate(0);
  emit(0);
  return false;
}

/** Runs Z at a constant speed. */
export function run(velocity_mm_s: f32): void {
  accelerate(clamp(velocity_mm_s, -P.z_velocity_mm_s, P.z_velocity_mm_s));
  emit(0);
}

/** Goes to `goal` (steps). @returns true once it is there and stands still. */
export function goTo(goal: i32): bool {
  const rest = P.z_acceleration_mm_s2 * TICK_S;
  if (S.z == goal && absolute(R.velocity_mm_s) <= rest) {
    R.velocity_mm_s = 0;
    R.pending = 0;
    S.z_steps = 0;
    return true;
  }
  const distance_mm = (<f32>(goal - S.z) - R.pending) / P.z_steps_per_mm;
  const length = absolute(distance_mm);
  // Half the acceleration for braking: the other half absorbs what sampling at 1 kHz rounds off.
  let speed = sqrt<f32>(P.z_acceleration_mm_s2 * length);
  if (speed > P.z_velocity_mm_s) speed = P.z_velocity_mm_s;
  if (speed * TICK_S > length) speed = length / TICK_S;
  accelerate(distance_mm < 0 ? -speed : speed);
  emit(0);
  return false;
}

/** A height above the touched sheet, in steps since the box took Z over. */
export function aboveSheet(height_mm: f32): i32 {
  return S.z_touched + wholeSteps(nearest<f32>(height_mm * P.z_steps_per_mm));
}

/** Lowest Z that the travel and, once the sheet is found, the dive bound allow, in steps. */
export function lowest(): i32 {
  const travel = <i32>(-P.travel_mm * P.z_steps_per_mm);
  if (!S.touched_off || S.mode < MODE_LIFT) return travel;
  const dive = S.z_touched - <i32>(P.dive_mm * P.z_steps_per_mm);
  return dive > travel ? dive : travel;
}

/** Z must begin to stop now to come to rest within its bounds: `lowest` below, where it was taken over above. */
export function atBounds(): bool {
  const speed = R.velocity_mm_s;
  // Two ticks more than the ramp: the one that this decides for, and the rounding of steps.
  const stopping_mm = (speed * speed) / (2 * P.z_acceleration_mm_s2) + absolute(speed) * 2 * TICK_S;
  const stopping = wholeSteps(stopping_mm * P.z_steps_per_mm) + 1;
  return speed < 0 ? S.z - stopping <= lowest() : speed > 0 && S.z + stopping >= 0;
}

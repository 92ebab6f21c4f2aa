// Z: velocity and acceleration limits, positions to go to, and whole steps out of fractions of steps.
// Up is positive; z counts steps since the box took Z over.

import { MODE_LIFT } from '../wire/codes.gen';
import { stopSteps } from './derived';
import { absolute, exceeds, isPositive, isZero, limit, TICK_S, TICKS_PER_S, wholeSteps } from './numbers';
import { D, P, R, S } from './state';

/** Bits of S.limits in this tick. */
export const VELOCITY_LIMITED = 1;
export const ACCELERATION_LIMITED = 2;

/** Moves the commanded velocity towards `wanted_mm_s`, no harder than the acceleration limit. */
export function accelerate(wanted_mm_s: f32): void {
  const change = wanted_mm_s - R.velocity_mm_s;
  if (exceeds(change, D.change_mm_s)) {
    R.velocity_mm_s += isPositive(change) ? D.change_mm_s : -D.change_mm_s;
    S.limits |= ACCELERATION_LIMITED;
  } else {
    R.velocity_mm_s = wanted_mm_s;
  }
}

/**
 * Turns the velocity of this tick into whole steps; the fraction is kept, so none is lost. With `backlash_steps` the
 * output is the command through a play of ± that many steps: noise does not turn Z round.
 */
export function emit(backlash_steps: f32): void {
  R.pending += R.velocity_mm_s * D.steps_per_mm_s;
  S.z_steps = exceeds(R.pending, backlash_steps)
    ? wholeSteps(isPositive(R.pending) ? R.pending - backlash_steps : R.pending + backlash_steps)
    : 0;
  if (S.z_steps != 0) R.pending -= <f32>S.z_steps;
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
  if (isZero(R.velocity_mm_s)) {
    S.z_steps = 0;
    return true;
  }
  accelerate(0);
  emit(0);
  return false;
}

/** Runs Z at a constant speed. */
export function run(velocity_mm_s: f32): void {
  accelerate(limit(velocity_mm_s, P.z_velocity_mm_s));
  emit(0);
}

/** Goes to `goal` (steps). @returns true once it is there and stands still. */
export function goTo(goal: i32): bool {
  if (S.z == goal && !exceeds(R.velocity_mm_s, D.change_mm_s)) {
    R.velocity_mm_s = 0;
    R.pending = 0;
    S.z_steps = 0;
    return true;
  }
  const distance_mm = (<f32>(goal - S.z) - R.pending) * D.mm_per_z_step;
  const length = absolute(distance_mm);
  // Half the acceleration for braking: the other half absorbs what sampling at 1 kHz rounds off.
  let speed = sqrt<f32>(P.z_acceleration_mm_s2 * length);
  if (speed > P.z_velocity_mm_s) speed = P.z_velocity_mm_s;
  if (speed * TICK_S > length) speed = length * TICKS_PER_S;
  accelerate(distance_mm < 0 ? -speed : speed);
  emit(0);
  return false;
}

export function mmToSteps(length_mm: f32): i32 {
  return <i32>nearest<f32>(length_mm * P.z_steps_per_mm);
}

/** A height above the touched sheet, in steps since the box took Z over. */
export function aboveSheet(height_mm: f32): i32 {
  return S.z_touched + wholeSteps(nearest<f32>(height_mm * P.z_steps_per_mm));
}

/** Lowest Z that the travel and, once the sheet is found, the dive bound allow, in steps. */
export function lowest(): i32 {
  const travel = -D.travel_steps;
  if (!S.touched_off || S.mode < MODE_LIFT) return travel;
  const dive = S.z_touched - D.dive_steps;
  return dive > travel ? dive : travel;
}

/** Z must begin to stop now to come to rest within its bounds: `lowest` below, where it was taken over above. */
export function atBounds(): bool {
  if (isZero(R.velocity_mm_s)) return false;
  // What the highest speed needs is there: no need to ask for this one.
  if (S.z + D.longest_stop_steps < 0 && S.z - D.longest_stop_steps > lowest()) return false;
  const stopping = stopSteps(R.velocity_mm_s);
  return isPositive(R.velocity_mm_s) ? S.z + stopping >= 0 : S.z - stopping <= lowest();
}

// The last word on every output, every tick: whatever the sequence wanted, these bounds hold.

import { FAULT_NOT_FINITE, FAULT_TRAVEL, MODE_FAULT, MODE_HOLD, MODE_SETTLE, MODE_STRIKE } from '../wire/codes.gen';
import { INPUT_KEY, INPUT_OVERRUN, INPUT_REQUEST, INPUT_REST, INPUT_STOP_CHAIN } from '../wire/layout.gen';
import { lowest } from './axis';
import { raise } from './faults';
import { line } from './inputs';
import { D, F, R, Regulator, S } from './state';
import { startFromParameters } from './target';

export function guard(): void {
  if (!finite()) {
    // Whatever is not finite spreads from field to field: all of them start again.
    forgetNumbers();
    startFromParameters();
    S.z_steps = 0;
    if (S.mode != MODE_FAULT) raise(FAULT_NOT_FINITE);
  }
  if (!mayFire()) S.trigger = 0;
  if (!S.trigger || S.fault) S.permit = 0;
  boundSteps();
  if (line(INPUT_REST)) letGo();
  if (!S.owned) S.z_steps = 0;
  S.z += S.z_steps;
}

function forgetNumbers(): void {
  const block = changetype<usize>(R);
  for (let at: usize = 0; at < offsetof<Regulator>(); at += 4) store<f32>(block + at, 0);
}

function mayFire(): bool {
  return (
    S.mode >= MODE_STRIKE &&
    S.mode <= MODE_HOLD &&
    S.armed &&
    S.touched_off &&
    S.fault == 0 &&
    line(INPUT_KEY) &&
    line(INPUT_REQUEST) &&
    line(INPUT_STOP_CHAIN) &&
    !line(INPUT_OVERRUN) &&
    !line(INPUT_REST)
  );
}

/** Outputs are to rest: Z is no longer the box's, wherever it stands. The latched stop is left alone. */
function letGo(): void {
  R.velocity_mm_s = 0;
  R.pending = 0;
  if (S.owned) S.homed = 0;
  S.owned = 0;
}

/** The exponent of an infinite value and of NaN; and its lowest bit. */
const NO_EXPONENT: u32 = 0x7f800000;
const LOWEST_EXPONENT: u32 = 0x00800000;

/** 1 for an infinite value and for NaN, else 0; in integers, which are cheap without an FPU. */
function unbounded(value: f32): u32 {
  return ((reinterpret<u32>(value) & NO_EXPONENT) + LOWEST_EXPONENT) >> 31;
}

function finite(): bool {
  const found =
    unbounded(R.velocity_mm_s) |
    unbounded(R.pending) |
    unbounded(R.integral_mm_s) |
    unbounded(R.error_filtered_mm) |
    unbounded(R.rate_mm_s) |
    unbounded(R.target_V) |
    unbounded(R.slope_x) |
    unbounded(R.slope_y) |
    unbounded(R.feed_mm_s) |
    unbounded(R.feed_slow_mm_s) |
    unbounded(R.feed_effect_V) |
    unbounded(R.proof_slope_V_per_mm) |
    unbounded(F.mean_V);
  return found == 0;
}

/** No faster than the axis, no further than the travel and the dive bound, never above where Z was taken over. */
function boundSteps(): void {
  const most = D.z_most_steps;
  if (S.z_steps > most) S.z_steps = most;
  if (S.z_steps < -most) S.z_steps = -most;
  const bottom = lowest();
  const next = S.z + S.z_steps;
  if (next <= 0 && (next >= bottom || S.z_steps >= 0)) return;
  // A bound that begins to count with Z already below it stops Z; it never lifts it.
  S.z_steps = next > 0 ? -S.z : S.z > bottom ? bottom - S.z : 0;
  R.velocity_mm_s = 0;
  R.pending = 0;
  if (S.mode >= MODE_SETTLE && S.mode <= MODE_HOLD) raise(FAULT_TRAVEL);
}

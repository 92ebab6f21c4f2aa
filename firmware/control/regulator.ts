// PI(D) from volts to Z velocity, divided by the known V/mm so that the gains are in 1/s:
//
//     w = Kp·e + ∫(Ki·e + (w_limited − w)/Tt)dt + Kd·de/dt      e = (V − target)/slope, mm, high is positive
//
// w is downward speed. Back-calculation against the velocity, acceleration and floor limits: Åström & Hägglund,
// Advanced PID Control.

import { accelerate, emit, VELOCITY_LIMITED } from './axis';
import { below, isPositive, limit, TICKS_PER_S } from './numbers';
import { heightError_mm } from './ruler/cycle';
import { restartAgainst } from './sheet/against';
import { restartCliff } from './sheet/cliff';
import { restartDip } from './sheet/dip';
import { inHole } from './sheet/hole';
import { D, F, L, P, R, S } from './state';

/** Over the first path of a contour nothing is known of the sheet's slope: Z goes up by so much more gain, fading to none. */
const FRESH_MM: f32 = 8;
const FRESH_P: f32 = 0.5;
const FRESH_I: f32 = 2;
/** Filter on the derivative, ms. */
const RATE_MS: f32 = 10;
/** What lagShare would give, computed when the module is built. */
const RATE_SHARE: f32 = <f32>1 / (<f32>1 + RATE_MS);

/** The error is kept up to date in every mode with an arc, so that following starts without a jump. */
export function updateError(): void {
  R.seen_mm = (F.mean_V - R.target_V) * D.mm_per_V;
  R.error_mm = R.seen_mm;
  if (L.by_height || inHole()) byHeight();
  R.error_filtered_mm += (R.error_mm - R.error_filtered_mm) * D.smoothing_share;
  if (!D.gain_d_used) return;
  const measured_mm = F.mean_V * D.mm_per_V;
  const rate = (measured_mm - R.measured_before_mm) * TICKS_PER_S;
  R.measured_before_mm = measured_mm;
  R.rate_mm_s += (rate - R.rate_mm_s) * RATE_SHARE;
}

/** By height nothing is seen of a sheet that rises; the voltage tells, once this start has been measured. */
function byHeight(): void {
  const height_mm = heightError_mm();
  R.error_mm = height_mm;
  if (L.first != 0) return;
  const seen_mm = R.seen_mm + R.doubt_mm;
  if (seen_mm >= height_mm) return;
  // Down only where both say so.
  if (isPositive(height_mm)) R.error_mm = isPositive(seen_mm) ? seen_mm : 0;
  const near_mm = seen_mm + D.up_band_mm;
  if (near_mm < R.error_mm) R.error_mm = near_mm;
}

/** Starts from the error as it is now, without what the low-pass remembers of a hold. */
export function beginRegulation(): void {
  R.error_filtered_mm = R.error_mm;
  restartCliff();
  restartAgainst();
  restartDip();
}

/** The vertical speed that Z has is what the slope asks for: the integrator starts from it, without a bump. */
export function presetIntegral(): void {
  R.integral_mm_s = -R.velocity_mm_s;
}

/** One tick of regulation. @param most_down_mm_s, most_up_mm_s largest speeds, 0…follow_down and 0…z_velocity. */
export function regulate(most_down_mm_s: f32, most_up_mm_s: f32): void {
  let proportional = P.gain_p_per_s * R.error_filtered_mm;
  let integral = D.gain_i_per_tick * R.error_filtered_mm;
  if (R.error_filtered_mm < 0 && below(R.cut_path_mm, FRESH_MM)) {
    const fresh = <f32>1 - R.cut_path_mm * (<f32>1 / FRESH_MM);
    proportional *= <f32>1 + FRESH_P * fresh;
    integral *= <f32>1 + FRESH_I * fresh;
  }
  let wanted = proportional + R.integral_mm_s;
  if (D.gain_d_used) wanted += P.gain_d * R.rate_mm_s;
  const limited = limit(wanted, isPositive(wanted) ? most_down_mm_s : most_up_mm_s);
  if (limited != wanted) S.limits |= VELOCITY_LIMITED;
  accelerate(-limited);
  const given = -R.velocity_mm_s;
  // ∫(Ki·e + (w_limited − w)/Tt)dt over one tick
  R.integral_mm_s += integral + (given - wanted) * D.tracking_share;
  R.integral_mm_s = limit(R.integral_mm_s, P.z_velocity_mm_s);
  emit(D.backlash_steps);
}

// The sheet's own slope: a plane z = a·x + b·y fitted, with forgetting along the path, to where the sheet was seen:
// Z less the standoff error, so that a correction under way is not taken for a slope. Increments of path are
// used, so the plane needs no origin. Across the path nothing is learned, and what was known there fades
// towards level; the fit stays solvable because a small weight speaks for level.

import { clamp, limit, TICKS_PER_S } from '../numbers';
import { HALF_TICKS } from '../ruler/cycle';
import { D, L, P, R, S } from '../state';

/** Path between two updates: long enough for several Z steps, short against a sheet's waves. */
const STRIDE_MM: f32 = 0.5;
/** Weight that speaks for a level sheet, in mm². */
const LEVEL_WEIGHT: f32 = 0.1;
/** Low-pass on the sheet as seen, ms. */
const SHEET_MS: f32 = 30;
/** What lagShare would give, computed when the module is built. */
const SHEET_SHARE: f32 = <f32>1 / (<f32>1 + SHEET_MS);
/** After the regulator takes over the voltage still carries the end of what the hold was for. */
export const WARM_UP_TICKS = 40;
/** Between contours the sheet is another place: only this share of the evidence is kept. */
const CONTOUR_SHARE: f32 = 0;

/** Adds one tick of following to the evidence. */
export function learnSlope(): void {
  const seen_mm = <f32>S.z * D.mm_per_z_step - R.error_mm - R.doubt_mm;
  if (S.timer < WARM_UP_TICKS) {
    R.sheet_mm = seen_mm;
    restartStride();
    return;
  }
  R.sheet_mm += (seen_mm - R.sheet_mm) * SHEET_SHARE;
  R.step_x_mm += R.x_mm;
  R.step_y_mm += R.y_mm;
  const xx = R.step_x_mm * R.step_x_mm;
  const yy = R.step_y_mm * R.step_y_mm;
  const square_mm2 = xx + yy;
  // The other tick of a lag has less to do, but for the one in the middle of a cycle.
  if (square_mm2 < STRIDE_MM * STRIDE_MM) return;
  if (L.measures != 0 && ((L.place & 1) != 0 || L.place == HALF_TICKS)) return;
  const rise_mm = R.sheet_mm - R.stride_start_mm;
  const keep = clamp(<f32>1 - sqrt<f32>(square_mm2) * D.slope_path_per_mm, 0, 1);
  R.xx = R.xx * keep + xx;
  R.xy = R.xy * keep + R.step_x_mm * R.step_y_mm;
  R.yy = R.yy * keep + yy;
  R.xz = R.xz * keep + R.step_x_mm * rise_mm;
  R.yz = R.yz * keep + R.step_y_mm * rise_mm;
  restartStride();
  solve();
}

/** Movement under a hold belongs to no stride. */
export function restartStride(): void {
  R.step_x_mm = 0;
  R.step_y_mm = 0;
  R.stride_start_mm = R.sheet_mm;
}

export function forgetContour(): void {
  R.xx *= CONTOUR_SHARE;
  R.xy *= CONTOUR_SHARE;
  R.yy *= CONTOUR_SHARE;
  R.xz *= CONTOUR_SHARE;
  R.yz *= CONTOUR_SHARE;
  restartStride();
  solve();
}

function solve(): void {
  const xx = R.xx + LEVEL_WEIGHT;
  const yy = R.yy + LEVEL_WEIGHT;
  // Both weights are positive and xx·yy ≥ xy² for sums of squares, so this never vanishes.
  const inverse = <f32>1 / (xx * yy - R.xy * R.xy);
  R.slope_x = (R.xz * yy - R.yz * R.xy) * inverse;
  R.slope_y = (R.yz * xx - R.xz * R.xy) * inverse;
  const steepness_squared = R.slope_x * R.slope_x + R.slope_y * R.slope_y;
  if (steepness_squared <= P.slope_limit * P.slope_limit) return;
  const share = P.slope_limit / sqrt<f32>(steepness_squared);
  R.slope_x *= share;
  R.slope_y *= share;
}

/** Vertical speed that keeps the torch along the slope, mm/s; 0 when a hold freezes Z. */
export function carriedVelocity_mm_s(): f32 {
  if (P.hold_carried < <f32>0.5) return 0;
  return limit((R.slope_x * R.x_mm + R.slope_y * R.y_mm) * TICKS_PER_S, P.z_velocity_mm_s);
}

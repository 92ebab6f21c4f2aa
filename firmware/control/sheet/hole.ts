// A small hole: its whole contour lies within a few millimetres of where the torch touched, and is cut slowly. The sheet is known
// there, while the voltage is not the standoff's for most of the way: the arc lies over its own kerf, and slow feeds hide where that
// begins. Z goes by touched height until the contour is seen to be none.

import { pathStep_mm } from '../feed';
import { below, exceeds, isZero } from '../numbers';
import { D, R } from '../state';

/** No point of a small hole is further from where the torch touched, mm; nor is its contour longer, with lead-in and overlap. */
const HOLE_MM2: f32 = 3.6 * 3.6;
const HOLE_PATH_MM: f32 = 30;

/** Every contour may be one, until it leaves. */
export function beginHole(): void {
  R.hole_path_mm = HOLE_PATH_MM;
  R.hole_x_mm = 0;
  R.hole_y_mm = 0;
}

export function inHole(): bool {
  return !isZero(R.hole_path_mm);
}

/** One tick of a cut; a contour that is too wide, too long or too fast is none, and is not asked again. */
export function trackHole(): void {
  if (!inHole()) return;
  R.hole_x_mm += R.x_mm;
  R.hole_y_mm += R.y_mm;
  R.hole_path_mm -= pathStep_mm();
  const near = below(R.hole_x_mm * R.hole_x_mm + R.hole_y_mm * R.hole_y_mm, HOLE_MM2);
  if (!near || R.hole_path_mm < 0 || exceeds(R.feed_mm_s, D.slow_feed_mm_s)) R.hole_path_mm = 0;
}

// A double arc, or one that jumps back, takes away volts faster than any sheet rises, and gives them back within some hundredths of
// a second. Z waits for it along the slope: whoever answers it stands high when the volts are back, and takes those for a kerf.

import { accelerate, emit } from '../axis';
import { rise } from '../filter';
import { isPositive, isZero } from '../numbers';
import { D, F, R, S } from '../state';
import { carriedVelocity_mm_s, restartStride, WARM_UP_TICKS } from './slope';

/** The longest that is waited for, with what the moving mean adds to it, ticks. */
const LONGEST_TICKS: f32 = 32;

/** The regulator takes over: what was before says nothing. */
export function restartDip(): void {
  R.dip_ms = 0;
}

/** One tick of following. @returns whether Z waits */
export function inDip(): boolean {
  if (waits()) {
    // Volts that are back, and have done so, say that the torch is no nearer than before.
    const back = F.mean_V >= R.dip_V;
    const was_back = R.dip_ms > LONGEST_TICKS;
    if (back ? comesBack() : was_back || R.dip_ms < LONGEST_TICKS) {
      R.dip_ms = back == was_back ? R.dip_ms + 1 : back ? LONGEST_TICKS + 1 : 1;
      return true;
    }
    restartStride();
    R.dip_ms = back ? 0 : -LONGEST_TICKS;
  }
  if (R.dip_ms < 0) {
    R.dip_ms += 1;
    return false;
  }
  // In turn with the cliff, for the sake of the longest tick.
  if ((F.past & 1) != 0 || isZero(D.crossing_rise_V) || S.timer < WARM_UP_TICKS) return false;
  const fall_V = -rise(D.crossing_window_ticks);
  if (fall_V < D.crossing_rise_V || fall_V <= D.crossing_left_V) return false;
  R.dip_ms = 1;
  R.dip_V = F.mean_V + fall_V - D.crossing_left_V;
  return true;
}

/** The step back is still seen in the window: no longer than it is wide, whatever else the voltage does. */
function comesBack(): boolean {
  const longest = LONGEST_TICKS + <f32>D.crossing_window_ticks;
  return R.dip_ms <= longest && rise(D.crossing_window_ticks) >= D.crossing_rise_V;
}

/** One tick of a hold. Volts that come back in it are no crossing, for as long as they are waited for. */
export function ageDip(): void {
  if (waits()) R.dip_ms = R.dip_ms < LONGEST_TICKS ? R.dip_ms + 1 : 0;
}

/** Z waits: what the voltage tells of the sheet is not looked at. */
export function waits(): bool {
  return isPositive(R.dip_ms);
}

/** What the voltage has risen by: in a dip, against where it began. */
export function riseBesideDip_V(): f32 {
  return waits() ? F.mean_V - R.dip_V : rise(D.crossing_window_ticks);
}

/** Along the slope, but not down: what seems near may be near. @param no_ascent Z is at its ceiling */
export function waitInDip(no_ascent: bool): void {
  const slope_mm_s = carriedVelocity_mm_s();
  accelerate(isPositive(slope_mm_s) && !no_ascent ? slope_mm_s : 0);
  emit(D.backlash_steps);
}

// Z rises to correct an error, and the voltage sees the torch fall. Over a sheet both at once mean a slope of their sum, which a
// sound Z answers within some hundredths of a second; with Z or the sensing reversed both grow until the torch lies on the sheet.

import { rise } from '../filter';
import { isPositive } from '../numbers';
import { D, P, R, S } from '../state';
import { WARM_UP_TICKS } from './slope';

/** Z and what the voltage sees are compared with where they were: a lag of 16 ms. */
const LAG_MS: f32 = 16;
const LAG_SHARE: f32 = <f32>4 / (<f32>4 + LAG_MS);
/** Since then each of them has gone so far, mm; the steepest sheets ask for more above 50 mm/s: 0.05 mm/mm over the lag. */
const AGAINST_MM: f32 = 0.2;
const FAST_MM_S: f32 = 50;
const FAST_SHARE_S: f32 = 0.0008;
/** And the voltage still falls, so far in so many ticks, mm: one that has jumped stands, or comes back. */
const FALL_MM: f32 = 0.08;
const FALL_TICKS = 6;
/** Reversed, the voltage falls by what Z rises, once more over a slope, and by what V/mm is told wrong: no arc that goes out. */
const FALL_MOST: f32 = 3;

/** The regulator takes over: what was before says nothing. */
export function restartAgainst(): void {
  R.against_z_mm = height_mm();
  R.against_seen_mm = seen_mm();
}

function height_mm(): f32 {
  return <f32>S.z * D.mm_per_z_step;
}

/** Whatever the target is raised by: Z that rises for that falls nowhere. */
function seen_mm(): f32 {
  return R.seen_mm + R.doubt_mm;
}

/** Four ticks of following. @returns whether the torch falls although Z rises. Only then is the sheet in danger. */
export function fallsAgainst(): bool {
  const risen_mm = height_mm() - R.against_z_mm;
  const fallen_mm = R.against_seen_mm - seen_mm();
  R.against_z_mm += risen_mm * LAG_SHARE;
  R.against_seen_mm -= fallen_mm * LAG_SHARE;
  if (S.timer < WARM_UP_TICKS || !isPositive(R.velocity_mm_s) || !isPositive(-R.error_filtered_mm - P.wrong_way_mm))
    return false;
  const fast_mm_s = R.feed_mm_s - FAST_MM_S;
  const least_mm = isPositive(fast_mm_s) ? AGAINST_MM + fast_mm_s * FAST_SHARE_S : AGAINST_MM;
  if (risen_mm < least_mm || fallen_mm < least_mm || fallen_mm > FALL_MOST * risen_mm) return false;
  return rise(FALL_TICKS) * D.mm_per_V < -FALL_MM;
}

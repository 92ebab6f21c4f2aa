// A crossing whose voltage rises too slowly to be told by its speed, at low feed or along a kerf, but over so little path that no
// sheet falls so steeply. Where Z and the voltage see the sheet is compared with where they saw it over the path before.

import { isZero, TICK_S } from '../numbers';
import { D, F, R, S } from '../state';

/** The path before is the lag of a mean over path, 1.6 mm, and never less than 40 ms of it: 0.2 to 0.6 mm over the steepest sheet. */
const SHARE_S_PER_MM: f32 = (<f32>2 / <f32>1.6) * TICK_S;
const SHARE_MOST: f32 = <f32>2 / <f32>40;

/** Where the voltage sees the sheet, mm, whatever the target is raised by. */
export function seenSheet_mm(): f32 {
  return <f32>S.z * D.mm_per_z_step - (F.mean_V - R.target_V) * D.mm_per_V - R.doubt_mm;
}

/** The regulator takes over: what was seen before says nothing. */
export function restartCliff(): void {
  R.cliff_mm = seenSheet_mm();
}

/** Two ticks of following. @returns whether the sheet seems to fall off here */
export function atCliff(): bool {
  const sheet_mm = seenSheet_mm();
  const below_mm = R.cliff_mm - sheet_mm;
  const share = R.feed_mm_s * SHARE_S_PER_MM;
  R.cliff_mm -= below_mm * (share < SHARE_MOST ? share : SHARE_MOST);
  return !isZero(D.crossing_rise_V) && below_mm > D.cliff_mm;
}

// A crossing at low feed: the voltage rises too slowly to be told by its speed, but over so little path that no sheet falls so
// steeply. Where Z and the voltage see the sheet is compared with where they saw it over the path before.

import { pathStep_mm } from '../feed';
import { isZero } from '../numbers';
import { D, R, S } from '../state';

/** The path before is the lag of a mean over path, 1.2 mm: 0.37 mm over the steepest sheet. */
const PATH_PER_MM: f32 = <f32>1 / <f32>1.2;

/** At the target feed the speed of the rise tells; slower by a tenth it may not. */
const LEAST_SLOWNESS: f32 = 0.1;

function seenSheet_mm(): f32 {
  return <f32>S.z * D.mm_per_z_step - R.seen_mm;
}

/** The regulator takes over: what was seen before says nothing. */
export function restartCliff(): void {
  R.cliff_mm = seenSheet_mm();
}

/** One tick of following. @returns whether the sheet seems to fall off here */
export function atCliff(): bool {
  const sheet_mm = seenSheet_mm();
  const below_mm = R.cliff_mm - sheet_mm;
  R.cliff_mm -= below_mm * pathStep_mm() * PATH_PER_MM;
  return !isZero(D.crossing_rise_V) && R.slow > LEAST_SLOWNESS && below_mm > D.cliff_mm;
}

// The least that the target may be, whatever was found: a target that is too low brings the torch onto the sheet, one that is too
// high only away from it.

import { isPositive, isZero, limit } from './numbers';
import { deviation_mm } from './ruler/cycle';
import { D, F, L, P, R, S } from './state';

/** The target is off by more than so many deviations in one cut of some hundreds. */
const DEVIATIONS: f32 = 3;
/** What the target is raised by changes by so much in four ticks, mm: no jump of the target passes for one of the sheet. */
const DOUBT_STEP_MM: f32 = 0.04;

/** The torch stands at cut height, as the touch-off gives it: from there the feed effect takes no more than can be believed. */
export function measureLeast(): void {
  R.start_V = F.mean_V - L.excess_V;
}

/** The bound of a found target, and what it is raised by. */
export function raiseTarget(): void {
  const known: bool = D.target_found != 0 && S.permit != 0 && L.first == 0;
  if (known) {
    // At cut height, when all of the feed effect that may be believed is gone, less what is left of it at this feed.
    const least_V = R.start_V + R.trim_V - D.most_effect_V * (<f32>1 - R.slowness);
    if (R.target_V < least_V) R.target_V = least_V;
  }
  if ((F.past & 3) == 2) followDoubt(known);
  if (!isZero(R.doubt_mm)) R.target_V += R.doubt_mm * P.arc_slope_V_per_mm;
}

function followDoubt(known: bool): void {
  let unsure_mm: f32 = known ? DEVIATIONS * deviation_mm() - D.doubt_mm : 0;
  if (!isPositive(unsure_mm)) unsure_mm = 0;
  if (isZero(unsure_mm) && isZero(R.doubt_mm)) return;
  R.doubt_mm += limit(unsure_mm - R.doubt_mm, DOUBT_STEP_MM);
}

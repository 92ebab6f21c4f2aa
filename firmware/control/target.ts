// The voltage to hold: told, or found from each touch-off, plus trim, plus the allowance for the feed effect.

import { feedAllowance_V } from './feed';
import { raiseTarget } from './least';
import { limit } from './numbers';
import { forgetArc } from './ruler/cycle';
import { D, L, P, R, S } from './state';

/** The trim is led to its parameter at 2 V/s: so much in a tick. */
const TRIM_STEP_V: f32 = 0.002;

/** Forgets what was learned. */
export function startFromParameters(): void {
  R.base_target_V = P.target_V;
  R.target_V = P.target_V;
  R.feed_effect_V = P.feed_effect_V;
  S.target_kept = 0;
  forgetArc();
}

/** What the target is led to be trimmed by, V: what is trimmed away stays above the least standoff. */
export function boundedTrim_V(): f32 {
  return P.trim_V < -D.deepest_trim_V ? -D.deepest_trim_V : P.trim_V;
}

export function updateTarget(): void {
  const trim_V = boundedTrim_V();
  if (R.trim_V != trim_V) R.trim_V += limit(trim_V - R.trim_V, TRIM_STEP_V);
  R.target_V = R.base_target_V + R.trim_V + feedAllowance_V();
  raiseTarget();
  if (D.target_found) R.target_V += L.excess_V;
}

// The voltage to hold: fixed or learned, plus trim, plus the allowance for the feed effect.

import { feedAllowance_V, steadyFeed } from './feed';
import { absolute, clamp, limit } from './numbers';
import { D, F, P, R, S } from './state';

/** The trim is led to its parameter at 2 V/s: so much in a tick. */
const TRIM_STEP_V: f32 = 0.002;
/** A target is learned only at this share of the running feed or more. */
const LEARN_FEED_SHARE: f32 = 0.95;
/** Path after which a contour that never reaches its feed keeps the last target, mm. */
const LEARN_PATH_MM: f32 = 40;

/** Forgets what was learned. */
export function startFromParameters(): void {
  R.base_target_V = P.target_V;
  R.target_V = P.target_V;
  R.target_pace_s_per_mm = <f32>1 / P.target_feed_mm_s;
  R.feed_effect_V = P.feed_effect_V;
  S.learned_once = 0;
}

export function updateTarget(): void {
  if (R.trim_V != P.trim_V) R.trim_V += limit(P.trim_V - R.trim_V, TRIM_STEP_V);
  R.target_V = R.base_target_V + R.trim_V + feedAllowance_V();
}

/** The target with which a contour begins. */
export function beginTarget(): void {
  S.learn_ms = 0;
  R.learn_sum_V = 0;
  S.target_kept = 0;
  if (P.target_learned >= <f32>0.5 && S.learned_once) return;
  R.base_target_V = P.target_V;
  R.target_pace_s_per_mm = <f32>1 / P.target_feed_mm_s;
}

/**
 * Learns the target from the mean of the voltage at cut height, at a feed that has been steady for three time
 * constants of the feed effect. @returns true when the contour has its target, learned or kept.
 */
export function learnTarget(): bool {
  if (P.target_learned < <f32>0.5) return true;
  if (R.settle_path_mm > LEARN_PATH_MM) {
    S.target_kept = 1;
    S.learn_ms = 0;
    return true;
  }
  const ready =
    steadyFeed() && <f32>S.steady_ms >= 3 * P.feed_effect_ms && R.feed_mm_s >= LEARN_FEED_SHARE * R.running_mm_s;
  if (!ready) {
    S.learn_ms = 0;
    R.learn_sum_V = 0;
    return false;
  }
  R.learn_sum_V += F.mean_V;
  S.learn_ms++;
  if (S.learn_ms < D.learn_ticks) return false;
  accept(R.learn_sum_V / <f32>S.learn_ms);
  S.learn_ms = 0;
  return true;
}

function accept(measured_V: f32): void {
  if (absolute(measured_V - P.target_V) > P.learn_band_V) {
    S.target_kept = 1;
    return;
  }
  const before = R.base_target_V;
  R.base_target_V = S.learned_once
    ? clamp(measured_V, before - P.learn_change_V, before + P.learn_change_V)
    : measured_V;
  R.target_pace_s_per_mm = <f32>1 / R.feed_slow_mm_s;
  S.learned_once = 1;
}

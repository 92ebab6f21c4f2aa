// When the regulator lets go, and when it takes over again. In a hold the voltage error never drives Z down: Z is
// carried along the sheet's slope (or frozen); below target − band it may always rise.

import { accelerate, emit } from './axis';
import { feedFallen, pathStep_mm, steadyFeed } from './feed';
import { rise } from './filter';
import { insideWindow } from './arc';
import { absolute, clamp } from './numbers';
import { play_steps } from './regulator';
import { carriedVelocity_mm_s } from './slope';
import { F, P, R, S } from './state';
import { HOLD_CORNER, HOLD_CROSSING, HOLD_EXTERNAL, HOLD_NONE } from '../wire/codes.gen';

/** A crossing is over when this share of its voltage is left… */
const CROSSING_LEFT: f32 = 0.15;
/** …or this little, V… */
const CROSSING_LEFT_V: f32 = 0.8;
/** …for this many ticks. */
const CROSSING_BACK_TICKS = 3;
/** A corner hold ends when the feed has made up this share of what was missing to the running feed. */
const CORNER_RETURN: f32 = 0.5;
/** Evidence (sum of squares of slowness) below which a corner teaches nothing about the feed effect. */
const LEAST_EVIDENCE: f32 = 4;
/** Share of a corner's evidence that is believed. */
const EVIDENCE_SHARE: f32 = 0.5;
/** Largest feed effect that is believed, V; the parameter's own maximum. */
const LARGEST_EFFECT_V: f32 = 40;
/** After a bound ran out: downward speed, mm/s, and for how long, ms. */
export const LIMITED_DOWN_MM_S: f32 = 2;
const LIMITED_TICKS = 500;

/** What holdStep says. */
export const HOLD_GOES_ON = 0;
export const HOLD_OVER = 1;
export const HOLD_TOO_LONG = 2;

function crossingBegins(): bool {
  if (S.limited_ms > 0) return false;
  const above = F.mean_V - R.target_V;
  if (above <= 0) return false;
  const window = <i32>P.crossing_window_ms;
  if (P.crossing_V_per_ms > 0 && rise(window) > P.crossing_V_per_ms * <f32>window) return true;
  return P.crossing_band_V > 0 && above > P.crossing_band_V;
}

/** @returns the cause for which the regulator must let go now, or HOLD_NONE. */
export function holdCause(): i32 {
  if (S.external) return HOLD_EXTERNAL;
  if (crossingBegins()) return HOLD_CROSSING;
  if (feedFallen()) return HOLD_CORNER;
  return HOLD_NONE;
}

export function beginHold(cause: i32): void {
  S.hold = cause;
  S.crossing_ms = 0;
  S.crossing_back_ms = 0;
  R.hold_path_mm = 0;
  R.crossing_path_mm = 0;
  R.crossing_peak_V = 0;
  R.effect_start_V = F.mean_V;
  R.slowness_start = R.slowness;
  R.effect_product = 0;
  R.effect_square = 0;
}

/** One tick of a hold. @returns HOLD_GOES_ON, HOLD_OVER or HOLD_TOO_LONG. */
export function holdStep(floor_reached: bool): i32 {
  carry(floor_reached);
  R.hold_path_mm += pathStep_mm();
  if (S.hold != HOLD_CROSSING && crossingBegins()) {
    S.hold = HOLD_CROSSING;
    S.crossing_ms = 0;
    S.crossing_back_ms = 0;
    R.crossing_path_mm = 0;
    R.crossing_peak_V = 0;
  }
  if (S.hold == HOLD_CROSSING) return crossingStep();
  if (S.hold == HOLD_CORNER) return cornerStep();
  return S.external ? HOLD_GOES_ON : HOLD_OVER;
}

function crossingStep(): i32 {
  const above = F.mean_V - R.target_V;
  if (above > R.crossing_peak_V) R.crossing_peak_V = above;
  const share = CROSSING_LEFT * R.crossing_peak_V;
  const left = share > CROSSING_LEFT_V ? share : CROSSING_LEFT_V;
  S.crossing_back_ms = above <= left ? S.crossing_back_ms + 1 : 0;
  if (S.crossing_back_ms >= CROSSING_BACK_TICKS) {
    if (feedFallen()) {
      beginHold(HOLD_CORNER);
      return HOLD_GOES_ON;
    }
    return HOLD_OVER;
  }
  S.crossing_ms++;
  R.crossing_path_mm += pathStep_mm();
  if (<f32>S.crossing_ms < P.crossing_ms && R.crossing_path_mm < P.crossing_path_mm) return HOLD_GOES_ON;
  // The bound is over: a voltage that is steady inside the window is a new state of things, anything else is not.
  const window = <i32>P.crossing_window_ms;
  const steady = absolute(rise(window)) <= P.crossing_V_per_ms * <f32>window || P.crossing_V_per_ms == 0;
  if (!insideWindow() || !steady) return HOLD_TOO_LONG;
  S.limited_ms = LIMITED_TICKS;
  return HOLD_OVER;
}

function cornerStep(): i32 {
  const slower = R.slowness - R.slowness_start;
  R.effect_product += slower * (F.mean_V - R.effect_start_V);
  R.effect_square += slower * slower;
  const back = P.corner_fraction + (<f32>1 - P.corner_fraction) * CORNER_RETURN;
  if (R.hold_path_mm >= P.corner_path_mm || steadyFeed()) {
    R.running_mm_s = R.feed_slow_mm_s;
    return HOLD_OVER;
  }
  return R.feed_mm_s >= back * R.running_mm_s ? HOLD_OVER : HOLD_GOES_ON;
}

/** What a corner has taught about the feed effect: least squares of voltage over slowness at constant standoff. */
export function learnFeedEffect(): void {
  if (P.feed_effect_learned < <f32>0.5 || P.feed_effect_V <= 0 || R.effect_square < LEAST_EVIDENCE) return;
  const measured = R.effect_product / R.effect_square;
  R.feed_effect_V = clamp(R.feed_effect_V + EVIDENCE_SHARE * (measured - R.feed_effect_V), 0, LARGEST_EFFECT_V);
}

/** Z without the regulator: along the slope, up if the voltage says that the sheet is rising, never below the floor. */
export function carry(floor_reached: bool): void {
  let velocity = carriedVelocity_mm_s();
  const low_mm = -R.error_filtered_mm - P.up_band_V / P.arc_slope_V_per_mm;
  if (low_mm > 0) {
    const up = P.gain_p_per_s * low_mm;
    if (velocity < up) velocity = up;
  }
  if (velocity > P.z_velocity_mm_s) velocity = P.z_velocity_mm_s;
  if (velocity < -P.follow_down_mm_s) velocity = -P.follow_down_mm_s;
  if (floor_reached && velocity < 0) velocity = 0;
  accelerate(velocity);
  emit(play_steps());
}

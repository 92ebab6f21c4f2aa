// When the regulator lets go, and when it takes over again. In a hold the voltage error never drives Z down: Z is
// carried along the sheet's slope (or frozen); below target − band it may always rise.

import { HOLD_CORNER, HOLD_CROSSING, HOLD_EXTERNAL, HOLD_NONE } from '../wire/codes.gen';
import { insideWindow } from './arc';
import { accelerate, emit } from './axis';
import { feedFallen, pathStep_mm, steadyFeed } from './feed';
import { rise } from './filter';
import { below, clamp, exceeds, isPositive, isZero, limit, TICK_S } from './numbers';
import { atCliff } from './sheet/cliff';
import { ageDip, riseBesideDip_V, waits } from './sheet/dip';
import { inHole } from './sheet/hole';
import { carriedVelocity_mm_s } from './sheet/slope';
import { D, F, L, P, R, S } from './state';

/** A crossing is over when this share of its voltage is left, or as little as D.crossing_left_V… */
const CROSSING_LEFT: f32 = 0.08;
/** …for this many ticks. */
const CROSSING_BACK_TICKS = 4;
/** A corner hold ends when the feed has made up this share of what was missing to the running feed. */
const CORNER_RETURN: f32 = 0.5;
/** Evidence (sum of squares of slowness) below which a corner teaches nothing about the feed effect. */
const LEAST_EVIDENCE: f32 = 4;
/** Evidence that would be believed by half: about that of two square corners. */
const HALF_EVIDENCE: f32 = 60;
/** What the voltage at standstill counts for. */
const STANDSTILL_EVIDENCE: f32 = 60;
/** Largest feed effect that is believed, V; the parameter's own maximum. */
const LARGEST_EFFECT_V: f32 = 40;
/** After a bound ran out: downward speed, mm/s, and for how long, ms. */
export const LIMITED_DOWN_MM_S: f32 = 2;
const LIMITED_TICKS = 500;

/** Of the gain, in a corner, for what the torch is nearer than the target may be off and this, mm. */
const CORNER_SHARE: f32 = 0.7;
const CORNER_BAND_MM: f32 = 0.02;

/** In a small hole an arc that is longer by this lies over missing metal, mm. */
const HOLE_BAND_MM: f32 = 0.75;
/** Slower than this is no motion. */
const CREEPING_MM_S: f32 = 2;

/** What holdStep says. */
export const HOLD_GOES_ON = 0;
export const HOLD_OVER = 1;
export const HOLD_TOO_LONG = 2;

/** What the arc voltage has risen by in the window: the speed at which the arc seems to lengthen. */
function rise_V(): f32 {
  return rise(D.crossing_window_ticks);
}

function crossingBegins(): bool {
  if (S.limited_ms > 0) return false;
  const longer_mm = R.seen_mm;
  if (!isPositive(longer_mm)) return false;
  // Before the first sample of a start the target is only what was told.
  if (inHole()) return !isZero(D.crossing_rise_V) && L.first == 0 && exceeds(longer_mm, HOLE_BAND_MM);
  if (!isZero(D.crossing_rise_V) && riseBesideDip_V() > D.crossing_rise_V) return true;
  return !isZero(P.crossing_band_mm) && exceeds(longer_mm, P.crossing_band_mm);
}

/** The hold input is on, and the path that it may hold for in a contour is not used up. */
function heldFromOutside(): bool {
  return S.external != 0 && below(R.external_path_mm, P.external_path_mm);
}

/** @returns the cause for which the regulator must let go now, or HOLD_NONE. */
export function holdCause(): i32 {
  if (heldFromOutside()) return HOLD_EXTERNAL;
  if (crossingBegins() || ((F.past & 1) != 0 && !waits() && atCliff())) return HOLD_CROSSING;
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
export function holdStep(no_descent: bool, no_ascent: bool): i32 {
  carry(no_descent || R.drop_mm < 0, no_ascent);
  ageDip();
  R.hold_path_mm += pathStep_mm();
  if (S.hold == HOLD_EXTERNAL) R.external_path_mm += pathStep_mm();
  if (S.hold != HOLD_CROSSING && crossingBegins()) {
    S.hold = HOLD_CROSSING;
    S.crossing_ms = 0;
    S.crossing_back_ms = 0;
    R.crossing_path_mm = 0;
    R.crossing_peak_V = 0;
  }
  if (S.hold == HOLD_CROSSING) return crossingStep();
  if (S.hold == HOLD_CORNER) return cornerStep();
  if (heldFromOutside()) return HOLD_GOES_ON;
  if (S.external) S.limited_ms = LIMITED_TICKS;
  return HOLD_OVER;
}

function crossingStep(): i32 {
  const above = F.mean_V - R.target_V;
  if (above > R.crossing_peak_V) R.crossing_peak_V = above;
  const share = CROSSING_LEFT * R.crossing_peak_V;
  const left = share > D.crossing_left_V ? share : D.crossing_left_V;
  S.crossing_back_ms = above <= left ? S.crossing_back_ms + 1 : 0;
  if (S.crossing_back_ms >= CROSSING_BACK_TICKS) {
    if (feedFallen()) {
      beginHold(HOLD_CORNER);
      return HOLD_GOES_ON;
    }
    return HOLD_OVER;
  }
  if (S.crossing_ms > 0 || !creepsOver()) S.crossing_ms++;
  R.crossing_path_mm += pathStep_mm();
  const far = !inHole() && R.crossing_path_mm >= P.crossing_path_mm;
  if (S.crossing_ms < D.crossing_ticks && !far) return HOLD_GOES_ON;
  // The bound is over: a voltage that is steady inside the window is a new state of things, anything else is not.
  const steady = isZero(D.crossing_rise_V) || !exceeds(rise_V(), D.crossing_rise_V);
  const believable = P.crossing_band_mm == 0 || above <= P.crossing_band_mm * P.arc_slope_V_per_mm;
  if (!insideWindow() || !steady || !believable) return HOLD_TOO_LONG;
  S.limited_ms = LIMITED_TICKS;
  return HOLD_OVER;
}

/** A slow torch may need longer than crossing_ms, but gets there gradually: only a reading that is false jumps. */
function creepsOver(): bool {
  const creeps = exceeds(R.feed_mm_s, CREEPING_MM_S) && below(R.feed_mm_s, D.slow_feed_mm_s);
  return creeps && rise_V() < D.jump_V;
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
export function learnFromCorner(): void {
  if (R.effect_square < LEAST_EVIDENCE) return;
  believe(R.effect_product / R.effect_square, R.effect_square);
}

/**
 * What the start of a cut teaches: the torch stands still at a standoff that the touch-off has given, so what the
 * voltage is above the target is the feed effect.
 */
export function learnFromStandstill(): void {
  believe(F.mean_V - R.base_target_V - R.trim_V, STANDSTILL_EVIDENCE);
}

function believe(measured_V: f32, evidence: f32): void {
  if (D.target_found || P.feed_effect_learned < <f32>0.5 || P.feed_effect_V <= 0) return;
  const share = evidence / (evidence + HALF_EVIDENCE);
  R.feed_effect_V = clamp(R.feed_effect_V + share * (measured_V - R.feed_effect_V), 0, LARGEST_EFFECT_V);
}

/** Z without the regulator: along the slope, up if the voltage says that the sheet is rising, never against `no_…`. */
export function carry(no_descent: bool, no_ascent: bool): void {
  let velocity = carriedVelocity_mm_s() + cornerRise_mm_s();
  let low_mm = -R.error_filtered_mm;
  // By height nothing is seen of a sheet that rises; the voltage tells, once this start has been measured.
  if ((L.by_height || inHole()) && L.first == 0 && -R.seen_mm > low_mm) low_mm = -R.seen_mm;
  // What seems too near already is not carried nearer.
  if (low_mm > D.near_mm && velocity < 0) velocity = 0;
  low_mm -= D.up_band_mm;
  if (low_mm > 0) {
    const up = P.gain_p_per_s * low_mm;
    if (velocity < up) velocity = up;
  }
  velocity = limit(velocity, isPositive(velocity) ? P.z_velocity_mm_s : P.follow_down_mm_s);
  if (isPositive(velocity) ? no_ascent : no_descent) velocity = 0;
  accelerate(velocity);
  emit(D.backlash_steps);
  if (R.velocity_mm_s < 0) R.drop_mm += R.velocity_mm_s * TICK_S;
}

/**
 * A sheet has another slope behind a corner, and nobody knows it yet. Where the feed effect was found, the voltage says in the corner,
 * too, that the sheet has come nearer.
 */
function cornerRise_mm_s(): f32 {
  if (S.hold != HOLD_CORNER || !D.target_found || L.by_height || L.first != 0) return 0;
  const low_mm = -R.error_filtered_mm - L.deviation_mm - CORNER_BAND_MM;
  return isPositive(low_mm) ? low_mm * P.gain_p_per_s * CORNER_SHARE : 0;
}

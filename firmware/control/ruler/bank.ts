// The lag of the feed effect is not known: one Kalman filter for each that may be, weighed against each other by what they
// foretell. Each believes
//
//     V = V0 + fe·slowness + k·(height − cut height − slope·(x, y))
//
// with V0 the voltage at cut height and target feed, fe the feed effect, and height, x and y from where the torch touched: a path
// that comes back there, such as a hole, takes nothing of a tilt into V0.

import { fade } from '../feed';
import { exceeds, isPositive, isZero } from '../numbers';
import { BANK, D, L, R } from '../state';
import { HALF_SHARES, LAG_BYTES, Lag, TICK_SHARES } from './found';

/** What is not known of V0 and fe when consumables may have been changed, V². */
const PRIOR_ARC_V2: f32 = 49;
const PRIOR_EFFECT_V2: f32 = 25;
/** How far both may drift from one contour to the next, V². */
const DRIFT_ARC_V2: f32 = 0.02;
const DRIFT_EFFECT_V2: f32 = 0.01;
/** What is not known of the slope of the sheet, (mm/mm)². */
const SLOPE_2: f32 = 0.0025;
/** The weights are tempered: neighbouring samples err alike. */
const TEMPER: f32 = 0.3;
/** What is kept of the weights from one contour to the next. */
const KEPT_WEIGHT: f32 = 0.9;
/** A start that is off by more than 1.5 V and this many deviations, squared, is another arc than the last. */
const SURPRISE_2: f32 = 16;
const SURPRISE_V2: f32 = 2.25;
/** A later sample that is off by more than this many deviations, squared, is not taken. */
const OUTLIER_2: f32 = 9;
/** ln 2 / 2^23, and the bits of 1. */
const LN_PER_BIT: f32 = 8.2629582e-8;
const ONE_BITS: i32 = 0x3f800000;

function lag(index: i32): Lag {
  return changetype<Lag>(BANK + <usize>index * LAG_BYTES);
}

/** Consumables may be others now: the mean is kept, what is not known is as at first. */
export function openLag(index: i32, arc_V: f32, effect_V: f32): void {
  const h = lag(index);
  h.arc_V = arc_V;
  h.effect_V = effect_V;
  h.vv = PRIOR_ARC_V2;
  h.vf = 0;
  h.ff = PRIOR_EFFECT_V2;
  onSheet(h);
}

/** The torch has touched here: the sheet around is level as far as anyone knows. */
function onSheet(h: Lag): void {
  h.slope_x = 0;
  h.slope_y = 0;
  h.vx = 0;
  h.vy = 0;
  h.fx = 0;
  h.fy = 0;
  h.xy = 0;
  h.xx = SLOPE_2;
  h.yy = SLOPE_2;
}

/** A contour begins. */
export function startLag(index: i32): void {
  const h = lag(index);
  h.slowness = 0;
  h.log_weight *= KEPT_WEIGHT;
  h.vv += DRIFT_ARC_V2;
  h.ff += DRIFT_EFFECT_V2;
  onSheet(h);
}

/** First half of a lag's work: what it foretells of the present sample, and how well. */
export function foretell(index: i32): void {
  const h = lag(index);
  const share = load<f32>(HALF_SHARES + ((<usize>index) << 2));
  h.slowness += (L.slow_before - h.slowness) * share;
  const first = h.slowness;
  h.slowness = fade(h.slowness + (L.slow - h.slowness) * share);
  h.xx += L.bend_2;
  h.yy += L.bend_2;
  if (!L.measures) return;
  const f = (first + h.slowness) * <f32>0.5;
  L.slowness = f;
  const x = L.by_x_V;
  const y = L.by_y_V;
  L.off_V = L.sample_V - h.arc_V - f * h.effect_V - x * h.slope_x - y * h.slope_y;
  if (L.first) surprise(h);
  L.gain_v = h.vv + f * h.vf + x * h.vx + y * h.vy;
  L.gain_f = h.vf + f * h.ff + x * h.fx + y * h.fy;
  L.gain_x = h.vx + f * h.fx + x * h.xx + y * h.xy;
  L.gain_y = h.vy + f * h.fy + x * h.xy + y * h.yy;
  L.off_V2 = L.gain_v + f * L.gain_f + x * L.gain_x + y * L.gain_y + L.variance_V2;
}

/** Second half: what it learns, and its part of the sums. */
export function learn(index: i32): void {
  const h = lag(index);
  if (L.measures) correct(h);
  add(h, index);
}

function correct(h: Lag): void {
  const inverse = <f32>1 / L.off_V2;
  const share = L.off_V * inverse;
  const square = L.off_V * share;
  const log_variance = <f32>(reinterpret<i32>(L.off_V2) - ONE_BITS) * LN_PER_BIT;
  // No arc of this contour: a kerf that no hold has seen. A lag pays for it, or one that believes nothing any more would win.
  if (!L.first && exceeds(square, OUTLIER_2)) {
    h.log_weight -= TEMPER * (OUTLIER_2 + log_variance);
    return;
  }
  h.log_weight -= TEMPER * (square + log_variance);
  const gain_v = L.gain_v;
  const gain_f = L.gain_f;
  const gain_x = L.gain_x;
  const gain_y = L.gain_y;
  h.arc_V += gain_v * share;
  h.effect_V += gain_f * share;
  h.slope_x += gain_x * share;
  h.slope_y += gain_y * share;
  const by_v = gain_v * inverse;
  h.vv -= by_v * gain_v;
  h.vf -= by_v * gain_f;
  h.vx -= by_v * gain_x;
  h.vy -= by_v * gain_y;
  const by_f = gain_f * inverse;
  h.ff -= by_f * gain_f;
  h.fx -= by_f * gain_x;
  h.fy -= by_f * gain_y;
  const by_x = gain_x * inverse;
  h.xx -= by_x * gain_x;
  h.xy -= by_x * gain_y;
  h.yy -= gain_y * gain_y * inverse;
}

/** At the start the torch stands at a known standoff: a voltage far from what was believed is another arc's. */
function surprise(h: Lag): void {
  const f = L.slowness;
  const square = L.off_V * L.off_V;
  if (square < SURPRISE_V2) return;
  if (square < SURPRISE_2 * (h.vv + f * (h.vf + h.vf + f * h.ff) + L.variance_V2)) return;
  h.vv += PRIOR_ARC_V2;
  h.ff += PRIOR_EFFECT_V2;
}

/** e^x for x up to 0: (1 + x/64)^64; 0 below −20. */
function power(x: f32): f32 {
  if (exceeds(x, 20)) return 0;
  let y = <f32>1 + x * <f32>0.015625;
  y *= y;
  y *= y;
  y *= y;
  y *= y;
  y *= y;
  return y * y;
}

function add(h: Lag, index: i32): void {
  if (h.log_weight > L.next_highest) L.next_highest = h.log_weight;
  let over = h.log_weight - L.highest;
  if (isPositive(over)) over = 0;
  const weight = power(over);
  if (isZero(weight)) return;
  L.weight += weight;
  L.sum_V += weight * h.arc_V;
  L.sum_effect_V += weight * h.effect_V;
  L.sum_share += weight * load<f32>(TICK_SHARES + ((<usize>index) << 2));
  if (L.by_height) {
    L.sum_slope_x += weight * h.slope_x;
    L.sum_slope_y += weight * h.slope_y;
  }
  const f = h.slowness;
  const target = h.arc_V + f * h.effect_V - R.base_target_V;
  L.sum_target_V += weight * target;
  L.sum_square_V2 += weight * (target * target + h.vv + f * (h.vf + h.vf + f * h.ff));
}

/** A new round of weights. */
export function clearSums(): void {
  L.highest = L.next_highest;
  L.next_highest = -1e9;
  L.weight = 0;
  L.sum_V = 0;
  L.sum_effect_V = 0;
  L.sum_slope_x = 0;
  L.sum_slope_y = 0;
  L.sum_target_V = 0;
  L.sum_square_V2 = 0;
  L.sum_share = 0;
}

/** What the lags say together. */
export function sumUp(): void {
  const inverse = <f32>1 / L.weight;
  L.found_V = L.sum_V * inverse;
  L.found_effect_V = L.sum_effect_V * inverse;
  if (L.by_height) {
    L.slope_x = L.sum_slope_x * inverse;
    L.slope_y = L.sum_slope_y * inverse;
  }
  L.effect_share = L.sum_share * inverse;
  const middle = L.sum_target_V * inverse;
  const variance = L.sum_square_V2 * inverse - middle * middle;
  L.deviation_mm = sqrt<f32>(variance > 0 ? variance : 0) * D.mm_per_V;
}

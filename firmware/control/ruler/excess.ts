// What the pierce leaves in the voltage: it decays slowly. Means over three equal stretches of the dwell give how fast (each
// difference is the same share of the one before) and how much is left.

import { below, clamp, isZero } from '../numbers';
import { D, F, L, P, S } from '../state';

/** The stretches are this part of the dwell each, at its end. */
const STRETCHES = 5;
/** What is left from one stretch to the next, as long as nothing is known: 120 ms in 100 ms; and what that counts for, V². */
const USUAL_SHARE: f32 = 0.45;
const USUAL_V2: f32 = 1;
/** What is kept of the sums from one contour to the next. */
const KEPT: f32 = 0.8;
const SLOWEST_SHARE: f32 = 0.75;
const FASTEST_SHARE: f32 = 0.1;
/** Less than this is nothing, V. */
const LEAST_V: f32 = 0.02;
/** Shorter stretches tell nothing, ticks. */
const SHORTEST_TICKS = 20;

export function beginExcess(): void {
  L.since_ms = 0;
  L.early_sum_V = 0;
  L.middle_sum_V = 0;
  L.late_sum_V = 0;
  L.excess_V = 0;
}

/** One tick of the dwell. */
export function watchDwell(): void {
  const length = D.pierce_ticks / STRETCHES;
  const stretch = L.since_ms / (length > 0 ? length : 1);
  const volts = F.mean_V - P.arc_slope_V_per_mm * (<f32>(S.z - S.z_touched) * D.mm_per_z_step);
  if (stretch == 2) L.early_sum_V += volts;
  else if (stretch == 3) L.middle_sum_V += volts;
  else if (stretch == 4) L.late_sum_V += volts;
  L.since_ms++;
  if (L.since_ms == 5 * length && length >= SHORTEST_TICKS) workOut(<f32>length);
}

function workOut(length: f32): void {
  const per_tick = <f32>1 / length;
  const before = (L.early_sum_V - L.middle_sum_V) * per_tick;
  const after = (L.middle_sum_V - L.late_sum_V) * per_tick;
  L.excess_product_V2 = L.excess_product_V2 * KEPT + before * after;
  L.excess_square_V2 = L.excess_square_V2 * KEPT + before * before;
  const share = clamp(
    (L.excess_product_V2 + USUAL_SHARE * USUAL_V2) / (L.excess_square_V2 + USUAL_V2),
    FASTEST_SHARE,
    SLOWEST_SHARE,
  );
  // −ln(share), by the series of artanh.
  const u = (<f32>1 - share) / (<f32>1 + share);
  const decay = <f32>2 * u * (<f32>1 + u * u * (<f32>0.3333333 + u * u * <f32>0.3));
  L.excess_share = decay * per_tick;
  // Both differences as multiples of what is left in the last stretch: least squares.
  const second = (<f32>1 - share) / share;
  const first = second / share;
  const left = (first * before + second * after) / (first * first + second * second);
  // The mean of the last stretch is about its middle.
  L.excess_V = left > 0 ? left * (<f32>1 - decay * <f32>0.5 + decay * decay * <f32>0.1) : 0;
}

export function decayExcess(): void {
  if (isZero(L.excess_V)) return;
  L.excess_V -= L.excess_V * L.excess_share;
  if (below(L.excess_V, LEAST_V)) L.excess_V = 0;
}

// What the pierce leaves in the voltage: it decays slowly. Means over three equal stretches of the dwell give how fast (each
// difference is the same share of the one before) and how much is left.

import { below, clamp, isZero } from '../numbers';
import { D, F, HALF_SUMS, L, R } from '../state';

/** Half a stretch is this part of `pierce_ms`; those at the end of the dwell count. */
const HALVES = 10;
/** So many are kept, a power of two: three stretches and the half in hand. */
const KEPT_HALVES = 8;
/** What is left from one stretch to the next, as long as nothing is known: 120 ms in 100 ms; and what that counts for, V². */
const USUAL_SHARE: f32 = 0.45;
const USUAL_V2: f32 = 1;
/** What is kept of the sums from one contour to the next. */
const KEPT: f32 = 0.8;
const SLOWEST_SHARE: f32 = 0.75;
const FASTEST_SHARE: f32 = 0.1;
/** Less than this is nothing, V. */
const LEAST_V: f32 = 0.02;
/** Shorter ones tell nothing, ticks. */
const SHORTEST_TICKS = 10;

/** The arc that is being proved begins: what was before is not its own. */
export function beginExcess(): void {
  L.halves = 0;
  L.since_ms = 0;
  store<f64>(half(0), 0);
  L.excess_V = 0;
  L.lower_sum_V = 0;
  L.lower_ticks = 0;
}

/** One tick of the dwell. */
export function watchDwell(): void {
  const length = D.pierce_ticks / HALVES;
  if (length < SHORTEST_TICKS) return;
  const sums = half(L.halves);
  store<f32>(sums, load<f32>(sums) + F.mean_V);
  store<f32>(sums, load<f32>(sums, 4) + <f32>L.z_sum, 4);
  if (++L.since_ms < length) return;
  L.since_ms = 0;
  L.halves++;
  store<f64>(half(L.halves), 0);
}

/** The dwell is over: it lasts ten halves and more, for the proof never ends it before `pierce_ms`. */
export function endDwell(): void {
  workOut(<f32>(D.pierce_ticks / HALVES) * 2);
  L.halves = 0;
}

/** Where the sums of a half are: of the voltage and of Z over the mean. */
function half(index: i32): usize {
  return HALF_SUMS + ((<usize>(index & (KEPT_HALVES - 1))) << 3);
}

/** Sum of the voltage over a stretch less that over the next, as it were with Z at one height: by the V/mm that the strokes told. */
function difference(first: i32): f32 {
  let volts: f32 = 0;
  let z: f32 = 0;
  for (let index = first; index < first + 4; index++) {
    const sums = half(index);
    const sign: f32 = index < first + 2 ? 1 : -1;
    volts += sign * load<f32>(sums);
    z += sign * load<f32>(sums, 4);
  }
  return volts - R.proof_slope_V_per_mm * z * D.mm_per_z_sum;
}

function workOut(length: f32): void {
  const per_tick = <f32>1 / length;
  const before = difference(L.halves - 6) * per_tick;
  const after = difference(L.halves - 4) * per_tick;
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
  // The mean of the last stretch is about its middle; e^(−x) by its reciprocal.
  const x = L.excess_share * (length * <f32>0.5 + <f32>L.since_ms);
  L.excess_V = left > 0 ? left / (<f32>1 + x * (<f32>1 + x * (<f32>0.5 + x * <f32>0.1666667))) : 0;
}

export function decayExcess(): void {
  if (isZero(L.excess_V)) return;
  L.excess_V -= L.excess_V * L.excess_share;
  if (below(L.excess_V, LEAST_V)) L.excess_V = 0;
}

// The touch-off is the ruler: after it the torch stands at a known standoff, so each start measures the arc, and the voltage
// only carries that measurement along the path. A cycle of 24 ticks takes a sample, brings it
// to each lag of the bank, and sums up.

import {
  HOLD_CORNER,
  HOLD_CROSSING,
  HOLD_LIMITED,
  HOLD_NONE,
  MODE_HOLD,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_SETTLE,
} from '../../wire/codes.gen';
import { INPUT_KEY } from '../../wire/layout.gen';
import { insideWindow } from '../arc';
import { line } from '../inputs';
import { clamp, exceeds, limit, TICK_S } from '../numbers';
import { inHole } from '../sheet/hole';
import { D, F, HISTORY_TICKS, L, P, PARAMETERS, Q, R, S, Z_RING } from '../state';
import { clearSums, foretell, learn, openLag, startLag, sumUp } from './bank';
import { beginExcess, decayExcess, endDwell, watchDwell } from './excess';
import { LAG_COUNT } from './found';

export const HALF_TICKS = 12;
const CYCLE_TICKS = 24;
/** What is not known of a sample, V²: at the start, and along the path. */
const START_V2: f32 = 0.12;
const SAMPLE_V2: f32 = 0.2;
/** The first sample is a mean over the lowering from here on, mm above cut height: about 50 ms. */
const NEAR_MM: f32 = 0.8;
/** Samples without a word after a crossing: 60 ms and more. */
const AFTER_CROSSING = 3;
/** By how much the slope of a sheet changes along the path, (mm/mm)² for each mm. */
const SLOPE_2_PER_MM: f32 = 1.5e-5;
/** So far the sheet is known from the touch-off, mm of path. */
const LONGEST_MM: f32 = 60;
/**
 * The sheet is taken to rise by 0.03 mm/s under the arc, and by half of that this far away, mm: an assumption. Without it the
 * torch goes too low by what the sheet has risen during the pierce.
 */
const GROWTH_MM_PER_LOOK: f32 = 3.6e-4;
const GROWTH_MM: f32 = 15;
/** Stands for a target that nothing is known of yet, mm. */
const UNKNOWN_MM: f32 = 10;
/** Z goes by height until the target is known so well, mm. */
const KNOWN_MM: f32 = 0.15;
/** The middle of the mean is this part of half a cycle before its end. */
const MIDDLE: f32 = 0.42;
/** Largest feed effect that is believed, V; the parameter's own maximum. */
const LARGEST_EFFECT_V: f32 = 40;

/** Back to what was told: nothing of the cycle is remembered either. */
export function forgetArc(): void {
  for (let at = changetype<usize>(L); at < PARAMETERS; at += 4) store<i32>(at, 0);
  for (let index = 0; index < LAG_COUNT; index++) openLag(index, P.target_V, P.feed_effect_V);
  L.effect_share = D.effect_share;
  L.deviation_mm = D.target_found ? UNKNOWN_MM : 0;
}

/** How far the target can be off, mm; a number that is none says nothing. */
export function deviation_mm(): f32 {
  return L.deviation_mm <= UNKNOWN_MM ? L.deviation_mm : UNKNOWN_MM;
}

/** One tick. */
export function measureArc(): void {
  if (!D.target_found) return;
  followZ();
  if (!line(INPUT_KEY)) {
    if (S.mode == 0) openNext();
    return;
  }
  if (!S.arc_ok) {
    L.begun = 0;
    L.by_height = 0;
    L.excess_V = 0;
    return;
  }
  if (!L.begun) beginContour();
  readPierce();
  if (S.mode == MODE_LOWER) watchLowering();
  L.slow_sum += R.slow;
  L.feed_sum += R.feed_mm_s;
  L.x_mm += R.x_mm;
  L.y_mm += R.y_mm;
  if (L.place < 0 || L.place >= CYCLE_TICKS) L.place = 0;
  if (L.place == 0) takeSample();
  else if (L.place == CYCLE_TICKS - 1) conclude();
  else if (L.place & 1) foretell((L.place - 1) >> 1);
  else learn((L.place - 1) >> 1);
  L.place = L.place < CYCLE_TICKS - 1 ? L.place + 1 : 0;
  if (L.place != HALF_TICKS) return;
  L.slow_before_sum = L.slow_sum;
  L.slow_sum = 0;
  look();
}

/** What the pierce leaves in the voltage. The proof has begun again: what burned before was not this arc. */
function readPierce(): void {
  if (S.mode != MODE_PIERCE) {
    if (L.halves > 0) endDwell();
    decayExcess();
  } else if (Q.samples == 0) {
    beginExcess();
  } else {
    watchDwell();
  }
}

/** The first sample is that of the torch that stands at cut height: the next tick takes it. */
export function measureStanding(): void {
  L.place = 0;
}

/** One tick of the lowering: at its end the torch is where it will stand, but for little. */
function watchLowering(): void {
  const above_mm = gap_mm();
  if (above_mm > NEAR_MM) return;
  // By the V/mm that the strokes told: what a person told may be off by a third.
  L.lower_sum_V += F.mean_V - L.excess_V - R.proof_slope_V_per_mm * above_mm;
  L.lower_ticks++;
}

/** How far the torch stood above cut height over the mean, where it touched and with what the sheet has risen since, mm. */
function gap_mm(): f32 {
  return <f32>L.z_sum * D.mm_per_z_sum - <f32>S.z_touched * D.mm_per_z_step - P.cut_height_mm - L.growth_mm;
}

/** Z over the same time as the mean of the voltage. */
function followZ(): void {
  const at = Z_RING + ((<usize>(L.z_place & (HISTORY_TICKS - 1))) << 2);
  const oldest = Z_RING + ((<usize>((L.z_place - D.mean_ticks) & (HISTORY_TICKS - 1))) << 2);
  L.z_sum += S.z - load<i32>(oldest);
  store<i32>(at, S.z);
  L.z_place = (L.z_place + 1) & (HISTORY_TICKS - 1);
}

/** With the key off consumables may be changed: what was found is kept, but believed no more than what is told. */
function openNext(): void {
  if (L.place < 0 || L.place >= LAG_COUNT) L.place = 0;
  openLag(L.place, R.base_target_V, R.feed_effect_V);
  L.place++;
}

function beginContour(): void {
  if (S.target_kept) forgetArc();
  L.begun = 1;
  L.first = 1;
  L.grown_mm = 0;
  L.growth_mm = 0;
  L.place = 0;
  L.waits = 0;
  L.path_mm = 0;
  L.x_mm = 0;
  L.y_mm = 0;
  L.before_x_mm = 0;
  L.before_y_mm = 0;
  L.deviation_mm = UNKNOWN_MM;
  S.target_kept = 0;
  L.by_height = 1;
  L.slope_x = 0;
  L.slope_y = 0;
  for (let index = 0; index < LAG_COUNT; index++) startLag(index);
  L.next_highest = 0;
  clearSums();
  L.slow_sum = 0;
  L.slow_before_sum = 0;
  L.feed_sum = 0;
  beginExcess();
}

function takeSample(): void {
  const cutting = S.mode >= MODE_SETTLE && S.mode <= MODE_HOLD;
  const standing = L.first && S.mode == MODE_SETTLE && S.timer == 0;
  L.slow_before = standing ? R.slow : L.slow_before_sum * (<f32>1 / <f32>HALF_TICKS);
  L.slow = standing ? R.slow : L.slow_sum * (<f32>1 / <f32>HALF_TICKS);
  clearSums();
  L.step_mm = cutting ? L.feed_sum * TICK_S : 0;
  L.path_mm += L.step_mm;
  L.bend_2 = L.step_mm * SLOPE_2_PER_MM;
  L.slow_sum = 0;
  L.feed_sum = 0;
  if (S.hold == HOLD_CROSSING) L.waits = AFTER_CROSSING;
  else if (L.waits > 0) L.waits--;
  const known = S.hold == HOLD_NONE || S.hold == HOLD_CORNER || S.hold == HOLD_LIMITED;
  // A torch that stands has been measured: what changes from there on is not the arc.
  const moves = L.first != 0 || L.step_mm > 0;
  L.measures = cutting && known && moves && L.waits == 0 && L.path_mm < LONGEST_MM && insideWindow() ? 1 : 0;
  const open_V = L.excess_V * <f32>0.5;
  L.variance_V2 = (L.first ? START_V2 : SAMPLE_V2) + open_V * open_V;
  const first_V = L.now_V;
  const first_x_mm = L.middle_x_mm;
  const first_y_mm = L.middle_y_mm;
  look();
  // Two looks make a sample; at the start there is one.
  L.sample_V = standing ? (L.lower_sum_V + L.now_V) / <f32>(L.lower_ticks + 1) : (first_V + L.now_V) * <f32>0.5;
  const half_k = P.arc_slope_V_per_mm * <f32>-0.5;
  L.by_x_V = half_k * (first_x_mm + L.middle_x_mm);
  L.by_y_V = half_k * (first_y_mm + L.middle_y_mm);
}

/** The voltage less what the height brings to it, and where the torch was in the middle of the mean. */
function look(): void {
  grow();
  L.now_V = F.mean_V - L.excess_V - P.arc_slope_V_per_mm * gap_mm();
  L.middle_x_mm = L.x_mm - MIDDLE * (L.x_mm - L.before_x_mm);
  L.middle_y_mm = L.y_mm - MIDDLE * (L.y_mm - L.before_y_mm);
  L.before_x_mm = L.x_mm;
  L.before_y_mm = L.y_mm;
}

/** The sheet rises under the arc, and less of it further away. */
function grow(): void {
  const square_mm2 = L.x_mm * L.x_mm + L.y_mm * L.y_mm;
  const near = <f32>1 / (<f32>1 + square_mm2 * (<f32>1 / (GROWTH_MM * GROWTH_MM)));
  L.grown_mm += near * GROWTH_MM_PER_LOOK;
  L.growth_mm = L.grown_mm * near;
}

/** All lags have had the sample. */
function conclude(): void {
  if (L.weight <= 0) return;
  sumUp();
  if (L.measures) {
    L.first = 0;
    take();
  }
  // Before the cut nothing tells whether this contour is a small hole.
  if (L.first != 0) return;
  if ((L.deviation_mm < KNOWN_MM && !inHole()) || L.path_mm >= LONGEST_MM) L.by_height = 0;
}

/**
 * What is found outside its bounds is not used: the bound is, and the next contour begins with what was told. What was told would
 * be the other end of an arc that is known to be none of it. At a feed that does not change only the sum with the feed effect is
 * known: that must be outside too.
 */
function take(): void {
  const off_V = L.found_V - P.target_V;
  const off_now_V = off_V + R.slowness * (L.found_effect_V - P.feed_effect_V);
  R.base_target_V = L.found_V;
  if (exceeds(off_V, P.learn_band_V) && exceeds(off_now_V, P.learn_band_V)) {
    S.target_kept = 1;
    R.base_target_V = P.target_V + limit(off_V, P.learn_band_V);
  }
  R.feed_effect_V = clamp(L.found_effect_V, 0, LARGEST_EFFECT_V);
}

/** Standoff error by touched height and the sheet as estimated, mm. */
export function heightError_mm(): f32 {
  const height_mm = <f32>(S.z - S.z_touched) * D.mm_per_z_step - P.cut_height_mm - L.growth_mm;
  return height_mm - L.slope_x * L.x_mm - L.slope_y * L.y_mm;
}

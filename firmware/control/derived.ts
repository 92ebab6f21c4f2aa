// What follows from the parameters alone. Divisions are expensive on a processor without one, and so are floats where integers
// do: both are worked out when a parameter is set, not in every tick.

import { INPUT_CAPACITY, PROOF_BEGINS_MS, READINGS_PER_TICK, STROKE_UM } from '../wire/layout.gen';
import { absolute, lagShare, TICK_S, TICKS_PER_S, wholeSteps, wholeTicks } from './numbers';
import { D, INPUT, P, PARAMETERS } from './state';
import { CAPACITY_SPEED, CAPACITY_STEPS, RELATION_COUNT, RELATIONS } from './table.gen';

const TWO_PI: f32 = 6.2831853;
/** Readings a second, halved: divided by the mains frequency it is the length of the mean. */
const HALF_SECOND_READINGS: f32 = 5000;
/** Divided by the mains frequency: the delay of a mean over half a period, ms. */
const QUARTER_SECOND_MS: f32 = 250;
/** What the tap's filter and the tick add to that delay, ms. */
const FILTER_MS: f32 = 0.5;
/** A reading is believed again within this share of spike_V. */
const SPIKE_RELEASE: f32 = 0.2;
/** A reading this far below zero, as a share of rest_V, is a reversed lead. */
const REVERSED_SHARE: f32 = -0.2;
/** The feed effect of a sound cut may be so much larger than it was told, V. */
const MORE_EFFECT_V: f32 = 8;
/** A contour that is slower than this share of the target feed is slow: small holes are. */
const SLOW_SHARE: f32 = 0.6;
/**
 * The mean takes half a mains period for a jump, so one of 15 V rises so fast, V in a tick and V in all; a slow torch gets over a
 * kerf of 45 V in 50 ms.
 */
const JUMP_V_PER_TICK: f32 = 1.25;
const JUMP_V: f32 = 12;
/** A cliff: steeper than any sheet over the path that it is compared with, and what the noise adds, V. */
const CLIFF_MM: f32 = 0.4;
const CLIFF_V: f32 = 0.8;
/** A crossing is over when no more than this is left of its voltage, mm. */
const CROSSING_LEFT_MM: f32 = 0.2;
/**
 * Below the window no arc can be: arc_off_ms is for kerf crossings, which are above it. An arc that is out needs some 27 ms to get
 * there (the voltage falls to half in 20 ms, the mean takes 5 to 7), so 20 more are 47 in all.
 */
const ARC_GONE_TICKS = 20;
/** The proof of the arc takes a sample of the mean so often: no more of them overlap. */
export const SAMPLE_TICKS = 10;
/** So much of cut height may be in doubt: a third is the least standoff. */
const DOUBT_SHARE: f32 = 0.6666667;
/** Nor does the trim ask for less than half of cut height: V/mm may be believed a third too high. */
const TRIM_SHARE: f32 = 0.5;
/** In a hold, as shares of cut height: the band below which Z rises, and what is too near to be carried down. */
const UP_SHARE: f32 = 0.5;
const NEAR_SHARE: f32 = 0.25;
/** How far Z goes down at once, as a share of cut height, and over path, as a share of the steepest sheet. */
const DROP_SHARE: f32 = 0.2;
const FALL_SHARE: f32 = 0.6666667;
/** More than any table travels in a tick, mm: a count beyond it is a fault of the counter and must stay finite. */
const FARTHEST_MM: f32 = 10;

export function derive(): void {
  deriveVoltage();
  deriveLags();
  deriveRegulator();
  deriveTable();
  deriveZ();
  deriveTicks();
  D.contradiction = brokenRelation();
}

function deriveVoltage(): void {
  const mean_length = HALF_SECOND_READINGS / P.mains_Hz;
  D.mean_whole = <i32>mean_length;
  D.mean_part = mean_length - <f32>D.mean_whole;
  deriveMains();
  const volts_per_count = P.reading_gain_mV * <f32>0.001;
  D.mean_zero = P.reading_zero_counts * mean_length;
  D.mean_volts = volts_per_count / mean_length;
  D.tick_zero = P.reading_zero_counts * <f32>READINGS_PER_TICK;
  D.tick_volts = volts_per_count / <f32>READINGS_PER_TICK;
  const spike_counts = P.spike_V / volts_per_count;
  D.spike_limit = P.spike_V > 0 ? <i32>spike_counts : i32.MAX_VALUE;
  D.spike_release = <i32>(spike_counts * SPIKE_RELEASE);
  D.spike_longest = <i32>P.spike_ms * READINGS_PER_TICK;
  D.reversed_V = REVERSED_SHARE * P.rest_V;
  D.target_found = P.target_learned >= <f32>0.5 ? 1 : 0;
  D.contact_used = P.supply_contact >= <f32>0.5 ? 1 : 0;
}

/** By their series: 0.28 to 0.41 rad in a tick. */
function deriveMains(): void {
  const turn = TWO_PI * P.mains_Hz * TICK_S;
  const square = turn * turn;
  D.mains_cosine = <f32>1 - square * (<f32>0.5 - square * (<f32>0.041666667 - square * <f32>0.0013888889));
  D.mains_sine =
    turn * (<f32>1 - square * (<f32>0.16666667 - square * (<f32>0.0083333333 - square * <f32>0.0001984127)));
}

function deriveLags(): void {
  D.feed_share = lagShare(P.feed_filter_ms);
  D.delay_share = lagShare(QUARTER_SECOND_MS / P.mains_Hz);
  D.effect_share = lagShare(P.feed_effect_ms);
  D.slow_feed_mm_s = P.target_feed_mm_s * SLOW_SHARE;
  D.target_pace_s_per_mm = <f32>1 / P.target_feed_mm_s;
  D.least_slowness = D.target_found ? -1 : 0;
  D.smoothing_share = lagShare(P.smoothing_ms);
}

function deriveRegulator(): void {
  D.mm_per_V = <f32>1 / P.arc_slope_V_per_mm;
  D.deepest_trim_V = P.cut_height_mm * TRIM_SHARE * P.arc_slope_V_per_mm;
  D.gain_i_per_tick = P.gain_i_per_s2 * TICK_S;
  D.tracking_share = <f32>1 / P.tracking_ms;
  D.gain_d_used = P.gain_d > 0 ? 1 : 0;
  D.crossing_rise_V = P.crossing_rise_mm_per_s * P.arc_slope_V_per_mm * P.crossing_window_ms * TICK_S;
  D.standing_most_V = P.target_V + P.learn_band_V + P.feed_effect_V + MORE_EFFECT_V;
  D.most_effect_V = P.feed_effect_V + MORE_EFFECT_V;
  const half_mm = P.cut_height_mm * UP_SHARE;
  D.up_band_mm = P.up_band_mm < half_mm ? P.up_band_mm : half_mm;
  D.near_mm = P.cut_height_mm * NEAR_SHARE;
  D.drop_mm = P.cut_height_mm * DROP_SHARE;
  D.fall_slope = P.slope_limit * FALL_SHARE;
  D.doubt_mm = P.cut_height_mm * DOUBT_SHARE;
  D.crossing_left_V = CROSSING_LEFT_MM * P.arc_slope_V_per_mm;
  const jump_V = JUMP_V_PER_TICK * P.crossing_window_ms;
  D.jump_V = jump_V < JUMP_V ? jump_V : JUMP_V;
  D.cliff_mm = CLIFF_MM + CLIFF_V * D.mm_per_V;
  D.slope_path_per_mm = <f32>1 / P.slope_path_mm;
}

function deriveTable(): void {
  D.mm_per_x_step = <f32>1 / P.x_steps_per_mm;
  D.mm_per_y_step = <f32>1 / P.y_steps_per_mm;
  D.x_most_steps = <i32>(FARTHEST_MM * P.x_steps_per_mm);
  D.y_most_steps = <i32>(FARTHEST_MM * P.y_steps_per_mm);
}

function deriveZ(): void {
  const speed_mm_s = P.z_velocity_mm_s;
  D.mm_per_z_step = <f32>1 / P.z_steps_per_mm;
  D.mean_ticks = <i32>nearest<f32>((TICKS_PER_S * <f32>0.5) / P.mains_Hz);
  D.mm_per_z_sum = D.mm_per_z_step / <f32>D.mean_ticks;
  D.change_mm_s = P.z_acceleration_mm_s2 * TICK_S;
  D.steps_per_mm_s = TICK_S * P.z_steps_per_mm;
  D.backlash_steps = P.reversal_um * <f32>0.0005 * P.z_steps_per_mm;
  D.z_most_steps = <i32>(speed_mm_s * D.steps_per_mm_s) + 1;
  D.stop_steps_per_mm2_s2 = P.z_steps_per_mm / (<f32>2 * P.z_acceleration_mm_s2);
  D.longest_stop_steps = stopSteps(speed_mm_s);
  D.z_steps_per_s = P.z_velocity_mm_s * P.z_steps_per_mm;
  D.travel_steps = <i32>(P.travel_mm * P.z_steps_per_mm);
  D.stroke_steps = wholeSteps(<f32>STROKE_UM * <f32>0.001 * P.z_steps_per_mm);
  D.stroke_look = SAMPLE_TICKS - <i32>nearest<f32>(QUARTER_SECOND_MS / P.mains_Hz + FILTER_MS);
  D.dive_steps = <i32>(P.dive_mm * P.z_steps_per_mm);
  D.floor_steps = wholeSteps(nearest<f32>((P.cut_height_mm - P.floor_allowance_mm) * P.z_steps_per_mm));
  D.ceiling_mm = P.cut_height_mm + P.floor_allowance_mm + P.up_band_mm;
  D.ceiling_steps = wholeSteps(nearest<f32>(D.ceiling_mm * P.z_steps_per_mm));
}

/** Steps to a stop from this speed: v²/2a, and two ticks: the one that this decides for, and the rounding of steps. */
export function stopSteps(speed_mm_s: f32): i32 {
  const steps = speed_mm_s * speed_mm_s * D.stop_steps_per_mm2_s2 + absolute(speed_mm_s) * <f32>2 * D.steps_per_mm_s;
  return wholeSteps(steps) + 1;
}

function deriveTicks(): void {
  D.arc_on_ticks = <i32>P.arc_on_ms;
  D.arc_off_ticks = <i32>P.arc_off_ms;
  // Rounded up: gone in that time or sooner.
  const gone_ticks = D.arc_off_ticks < ARC_GONE_TICKS ? D.arc_off_ticks : ARC_GONE_TICKS;
  D.arc_gone_down = (D.arc_on_ticks * D.arc_off_ticks + gone_ticks - 1) / gone_ticks;
  D.fall_ticks = <i32>P.fall_ms;
  D.strike_ticks = wholeTicks(P.strike_ms);
  D.proof_begins_ticks = D.strike_ticks + PROOF_BEGINS_MS;
  D.pierce_ticks = wholeTicks(P.pierce_ms);
  D.settle_ticks = wholeTicks(P.settle_ms);
  D.crossing_ticks = wholeTicks(P.crossing_ms);
  D.crossing_window_ticks = <i32>P.crossing_window_ms;
  D.arc_longest_ticks = <i32>(P.arc_longest_s * TICKS_PER_S);
  D.standstill_ticks = wholeTicks(P.standstill_s * TICKS_PER_S);
  D.stray_ticks = <i32>P.stray_ms;
  D.stuck_most_readings = P.stuck_ms > 0 ? <i32>P.stuck_ms * READINGS_PER_TICK : i32.MAX_VALUE;
}

function value(id: i32): f32 {
  return load<f32>(PARAMETERS + ((<usize>id) << 2));
}

/** Two ids as one number. It is never 0: the ids differ. */
function pair(lower: i32, upper: i32): i32 {
  return (lower << 16) | upper;
}

/** Relations between parameters that each alone are inside their ranges. @returns the first that is broken, or 0 */
function brokenRelation(): i32 {
  for (let row = 0; row < RELATION_COUNT; row++) {
    const at = RELATIONS + <usize>(row * 3);
    const lower = load<u8>(at);
    const upper = load<u8>(at, 1);
    const kept = load<u8>(at, 2) ? value(lower) < value(upper) : value(lower) <= value(upper);
    if (!kept) return pair(lower, upper);
  }
  return 0;
}

/**
 * Ids of two parameters that contradict each other, the first in the upper 16 bits; 0: none do. What the board can put out
 * is an input: with more steps Z would go on after it was told to stop. A board that has not told it gets no cut.
 */
export function firstContradiction(): i32 {
  if (D.contradiction != 0) return D.contradiction;
  const most_per_s = <f32>load<u32>(INPUT + INPUT_CAPACITY) * TICKS_PER_S;
  return D.z_steps_per_s <= most_per_s ? 0 : pair(CAPACITY_SPEED, CAPACITY_STEPS);
}

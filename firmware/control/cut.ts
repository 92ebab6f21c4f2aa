// The three modes with motion and arc: settle, follow, hold.

import {
  FAULT_ARC_LOST,
  FAULT_CROSSING_LONG,
  FAULT_NO_VOLTAGE,
  FAULT_TRAVEL,
  FAULT_WRONG_WAY,
  HOLD_CORNER,
  HOLD_LIMITED,
  HOLD_NONE,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_SETTLE,
  STAGE_LEARN,
  STAGE_NONE,
} from '../wire/codes.gen';
import { aboveWindow, belowWindow, nearZero } from './arc';
import { aboveSheet, atBounds, dropFraction, stop } from './axis';
import { stopSteps } from './derived';
import { raise, setMode } from './faults';
import { pathStep_mm, trackRunningFeed } from './feed';
import {
  beginHold,
  carry,
  HOLD_GOES_ON,
  HOLD_TOO_LONG,
  holdCause,
  holdStep,
  LIMITED_DOWN_MM_S,
  learnFromCorner,
  learnFromStandstill,
} from './hold';
import { measureLeast } from './least';
import { absolute, below, clamp, exceeds, isPositive, isZero, TICK_S } from './numbers';
import { beginRegulation, presetIntegral, regulate } from './regulator';
import { measureStanding } from './ruler/cycle';
import { fallsAgainst } from './sheet/against';
import { seenSheet_mm } from './sheet/cliff';
import { inDip, waitInDip } from './sheet/dip';
import { beginHole, trackHole } from './sheet/hole';
import { forgetContour, learnSlope, restartStride } from './sheet/slope';
import { D, F, P, R, S } from './state';

/**
 * No sheet is this steep, mm for each mm of path, over so much path and time, while Z goes so far to correct: a double arc is over
 * sooner.
 */
const STEEPEST: f32 = 0.45;
const WRONG_PATH_MM: f32 = 3;
const WRONG_TICKS = 50;
const WRONG_TRAVEL_MM: f32 = 1;
/**
 * At cut height, before the regulator moves Z, the voltage falls: the pierce's excess goes, and so does the feed effect. One that
 * rises by so much is a crossing or a false reading, V. What it falls to is followed with a lag of 50 ms.
 */
const STANDING_RISE_V: f32 = 12;
const STANDING_SHARE: f32 = 0.02;

/** The torch is at cut height with an arc: X and Y may move. */
export function beginCut(): void {
  S.permit = 1;
  S.permit_was_given = 1;
  S.steady_ms = 0;
  R.cut_path_mm = 0;
  R.settle_path_mm = 0;
  R.standing_V = F.mean_V;
  R.external_path_mm = 0;
  beginHole();
  measureStanding();
  measureLeast();
  R.drop_mm = D.drop_mm;
  R.running_mm_s = 0;
  S.wrong_ms = 0;
  forgetContour();
  learnFromStandstill();
  setMode(MODE_SETTLE, D.target_found ? STAGE_LEARN : STAGE_NONE);
}

/** One tick of settle, follow or hold. */
export function cutStep(): void {
  if (!S.arc_ok) {
    halt();
    raise(nearZero() ? FAULT_NO_VOLTAGE : FAULT_ARC_LOST);
    return;
  }
  if (atBounds()) {
    halt();
    raise(FAULT_TRAVEL);
    return;
  }
  // Below the window the voltage is no arc's and says nothing about the standoff: Z stands still until the debounce
  // has decided whether the arc is lost.
  if (belowWindow()) {
    halt();
    return;
  }
  trackRunningFeed();
  R.cut_path_mm += pathStep_mm();
  trackHole();
  if (S.mode == MODE_SETTLE) settleStep();
  else if (S.mode == MODE_FOLLOW) followStep();
  else heldStep();
}

/** Slows Z down to a stop without first emitting what the play has kept back. */
function halt(): void {
  dropFraction();
  stop();
}

function settleStep(): void {
  const risen_V = F.mean_V - R.standing_V;
  if (risen_V < 0) R.standing_V += risen_V * STANDING_SHARE;
  S.crossing_ms = risen_V > STANDING_RISE_V || F.mean_V > D.standing_most_V ? S.crossing_ms + 1 : 0;
  if (S.crossing_ms >= D.crossing_ticks) {
    halt();
    raise(FAULT_CROSSING_LONG);
    return;
  }
  // A sheet that rises under a table whose motion is not seen has no ceiling; standstill_s bounds that.
  carry(noDescent(), false);
  R.settle_path_mm += pathStep_mm();
  // Settling needs motion: the feed effect of a torch at rest is not the cut's voltage.
  if (isZero(R.settle_path_mm)) {
    S.timer = 0;
    return;
  }
  if (S.timer < D.settle_ticks) return;
  S.crossing_ms = 0;
  beginRegulation();
  presetIntegral();
  setMode(MODE_FOLLOW, STAGE_NONE);
}

function followStep(): void {
  const cause = holdCause();
  if (cause != HOLD_NONE) {
    setMode(MODE_HOLD, STAGE_NONE);
    beginHold(cause);
    S.wrong_ms = 0;
    heldStep();
    return;
  }
  if (S.limited_ms > 0) S.limited_ms--;
  S.hold = S.limited_ms > 0 ? HOLD_LIMITED : HOLD_NONE;
  // Above the window as below it: no arc's voltage, so it may not move Z, and no slope is learned from it.
  if (aboveWindow()) {
    halt();
    S.timer = 0;
    return;
  }
  if (inDip()) {
    waitInDip(ceilingReached());
    return;
  }
  let down = P.follow_down_mm_s;
  if (S.limited_ms > 0 && down > LIMITED_DOWN_MM_S) down = LIMITED_DOWN_MM_S;
  if (droppedFar() && down > R.feed_mm_s * D.fall_slope) down = R.feed_mm_s * D.fall_slope;
  if (floorReached()) down = 0;
  regulate(down, ceilingReached() ? 0 : P.z_velocity_mm_s);
  learnSlope();
  // In turn with the cliff and with what raises the target, for the sake of the longest tick.
  const against = (F.past & 3) == 0 && fallsAgainst();
  if (against || wrongWay()) raise(FAULT_WRONG_WAY);
}

/** Along a kerf the voltage is too high for longer than any bound: over its path Z goes down no further than a sheet falls, and a little. */
function droppedFar(): bool {
  const left_mm = R.drop_mm + (R.velocity_mm_s + R.feed_mm_s * D.fall_slope) * TICK_S;
  R.drop_mm = left_mm < D.drop_mm ? left_mm : D.drop_mm;
  return left_mm < 0;
}

function heldStep(): void {
  const says = holdStep(noDescent(), ceilingReached());
  if (says == HOLD_GOES_ON) return;
  if (says == HOLD_TOO_LONG) {
    raise(FAULT_CROSSING_LONG);
    return;
  }
  if (S.hold == HOLD_CORNER) learnFromCorner();
  S.hold = HOLD_NONE;
  S.crossing_ms = 0;
  S.crossing_back_ms = 0;
  restartStride();
  beginRegulation();
  if (P.hold_carried >= <f32>0.5) presetIntegral();
  setMode(MODE_FOLLOW, STAGE_NONE);
}

/** Z is at its floor, or the voltage says nothing about the standoff: not even the slope leads down. */
function noDescent(): bool {
  return aboveWindow() || floorReached();
}

/** Follow may not descend below the touched height by more than the allowance and the steepest believable sheet. */
function floorReached(): bool {
  // Z comes to a stop there.
  const ends = R.velocity_mm_s < 0 ? S.z - stopSteps(R.velocity_mm_s) : S.z;
  if (ends - S.z_touched > D.floor_steps) return false;
  const depth_mm = clamp(P.floor_allowance_mm + P.slope_limit * R.cut_path_mm, 0, P.travel_mm);
  return ends <= aboveSheet(P.cut_height_mm - depth_mm);
}

/** Nor does it rise above cut height by more than the allowances and twice that sheet: up is away from the sheet. */
function ceilingReached(): bool {
  if (S.z - S.z_touched < D.ceiling_steps) return false;
  return S.z >= aboveSheet(D.ceiling_mm + P.slope_limit * <f32>2 * R.cut_path_mm);
}

/**
 * Z moves to correct the error and the error grows: the sheet that this implies, Z less what the voltage sees, is steeper than any.
 * Reversed direction, wrong sign, or a loose coupling. Over a bump that is within reach of Z the implied sheet is the bump.
 */
function wrongWay(): bool {
  const error = R.error_filtered_mm;
  const corrects = !isZero(R.velocity_mm_s) && isPositive(error) != isPositive(R.velocity_mm_s);
  if (below(error, P.wrong_way_mm) || !corrects) {
    S.wrong_ms = 0;
    return false;
  }
  const sheet_mm = seenSheet_mm();
  const path_mm = R.cut_path_mm - R.wrong_path_mm;
  if (S.wrong_ms == 0 || path_mm > WRONG_PATH_MM * 6) {
    S.wrong_ms = 1;
    R.wrong_start_mm = absolute(error);
    R.wrong_sheet_mm = sheet_mm;
    R.wrong_path_mm = R.cut_path_mm;
    R.wrong_travel_mm = 0;
    return false;
  }
  S.wrong_ms++;
  R.wrong_travel_mm += absolute(R.velocity_mm_s) * TICK_S;
  if (S.wrong_ms < WRONG_TICKS || R.wrong_travel_mm < WRONG_TRAVEL_MM || absolute(error) <= R.wrong_start_mm)
    return false;
  return exceeds(sheet_mm - R.wrong_sheet_mm, STEEPEST * (path_mm > WRONG_PATH_MM ? path_mm : WRONG_PATH_MM));
}

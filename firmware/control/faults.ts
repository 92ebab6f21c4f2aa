// What can go wrong outside the sequence, and what a fault does: trigger and permit off in the same tick, disarmed,
// latched until a reset.

import {
  FAULT_ARC_LONG,
  FAULT_BREAKAWAY,
  FAULT_CONTACT,
  FAULT_EARLY_MOTION,
  FAULT_OVERRUN,
  FAULT_READING_SATURATED,
  FAULT_READING_STUCK,
  FAULT_RELAY_CLOSED,
  FAULT_REVERSED,
  FAULT_STANDSTILL,
  FAULT_STOP_CHAIN,
  FAULT_STRAY_MOTION,
  FAULT_VOLTAGE_AT_REST,
  MODE_FAULT,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_REST,
  MODE_SETTLE,
  MODE_STRIKE,
  REFUSAL_FAULT,
  STAGE_FALL,
  STAGE_STOP,
} from '../wire/codes.gen';
import { INPUT_OVERRUN, INPUT_RELAY, INPUT_REQUEST, INPUT_STOP_CHAIN, READINGS_PER_TICK } from '../wire/layout.gen';
import { voltageAtRest } from './arc';
import { dropFraction } from './axis';
import { line } from './inputs';
import { exceeds, isZero } from './numbers';
import { D, F, R, S } from './state';
import { FAULTS_THAT_LATCH, FAULTS_THAT_STOP_Z } from './table.gen';

/** The firing contact must have opened this long after the trigger went off. */
const RELAY_RELEASE_TICKS = 200;
const REVERSED_TICKS = 10;
const SATURATED_TICKS = 5;
/** A switch that has settled closed for so long is no chatter any more: after its opening in the touch-off it may close again. */
const CONTACT_TICKS = 20;
/** Ticks with steps before the permit; at low speed every second tick or fewer has one, and 50 ms are the bound. */
const EARLY_TICKS = 25;
/** Above this X and Y count as moving, mm/s. */
const MOVING_MM_S: f32 = 0.5;

export function setMode(mode: i32, stage: i32): void {
  S.mode = mode;
  S.stage = stage;
  S.timer = 0;
}

export function stopsZ(fault: i32): bool {
  return ((FAULTS_THAT_STOP_Z >>> fault) & 1) != 0;
}

/** @param fault any number; one that is no code of a fault sets nothing */
export function latchesStop(fault: i32): bool {
  return fault > 0 && fault < 32 && ((FAULTS_THAT_LATCH >>> fault) & 1) != 0;
}

/** When a cut ends, in whatever way: no timer of it goes on, and what the play has kept back is dropped. */
export function endTimers(): void {
  S.hold = 0;
  S.limited_ms = 0;
  S.wrong_ms = 0;
  S.crossing_ms = 0;
  S.crossing_back_ms = 0;
  S.steady_ms = 0;
  S.arc_ms = 0;
  S.standstill_ms = 0;
  S.reversed_ms = 0;
  S.saturated_ms = 0;
  S.contact_ms = 0;
  S.early_ms = 0;
  dropFraction();
}

export function raise(fault: i32): void {
  // What comes behind a fault that latched the stop does not take its place: no restart may end it.
  if (!S.latched_stop || latchesStop(fault)) S.fault = fault;
  S.refusal = REFUSAL_FAULT;
  R.fault_reading_V = F.mean_V;
  S.trigger = 0;
  S.permit = 0;
  S.armed = 0;
  S.key_off_ms = 0;
  S.request_was_off = 0;
  S.touched_off = 0;
  S.strikes = 0;
  endTimers();
  if (latchesStop(fault)) S.latched_stop = 1;
  setMode(MODE_FAULT, stopsZ(fault) ? STAGE_STOP : STAGE_FALL);
}

/** The checks that hold in every mode, the gravest first. @returns true if one of them raised a fault. */
export function checkAlways(): bool {
  const resting = voltageAtRest();
  if (resting && S.fault != FAULT_VOLTAGE_AT_REST) return raised(FAULT_VOLTAGE_AT_REST);
  if (relayClosed() && !S.latched_stop) return raised(FAULT_RELAY_CLOSED);
  if (strayMotion() && !S.latched_stop) return raised(FAULT_STRAY_MOTION);
  if (S.mode == MODE_FAULT) return false;
  if (line(INPUT_OVERRUN)) return raised(FAULT_OVERRUN);
  if (S.mode == MODE_REST) return false;
  if (!line(INPUT_STOP_CHAIN)) return raised(FAULT_STOP_CHAIN);
  if (!S.breakaway) return raised(FAULT_BREAKAWAY);
  return checkContact() || checkEarlyMotion() || checkReadings() || checkArcTime() || checkStandstill();
}

function raised(fault: i32): bool {
  raise(fault);
  return true;
}

/** The filtered feed is asked, not the steps of this tick: at low speed most ticks have none. */
function tableMoves(): bool {
  return exceeds(R.feed_mm_s, MOVING_MM_S);
}

/** The firing contact stays closed although the trigger is off. */
function relayClosed(): bool {
  const against = !S.trigger && line(INPUT_RELAY);
  S.relay_ms = !against ? 0 : S.relay_ms < RELAY_RELEASE_TICKS ? S.relay_ms + 1 : RELAY_RELEASE_TICKS;
  return S.relay_ms >= RELAY_RELEASE_TICKS;
}

/** X and Y steps although the permit was withdrawn in the middle of a contour, or before it was ever given. */
function strayMotion(): bool {
  const withdrawn = S.permit_was_given || S.fault == FAULT_EARLY_MOTION;
  const forbidden = S.mode == MODE_FAULT && withdrawn && line(INPUT_REQUEST);
  const longest = D.stray_ticks;
  S.stray_ms = forbidden && tableMoves() ? (S.stray_ms < longest ? S.stray_ms + 1 : longest) : 0;
  return S.stray_ms >= longest;
}

/** Once the sheet is found the switch closes only on contact. Z then goes nowhere before the voltage has fallen, and then up. */
function checkContact(): bool {
  const touching = S.touch && S.mode >= MODE_LIFT && S.mode <= MODE_HOLD;
  S.contact_ms = touching ? S.contact_ms + 1 : 0;
  if (S.contact_ms >= CONTACT_TICKS) return raised(FAULT_CONTACT);
  return false;
}

/** Before the permit the table is to stand: what was touched, or is being pierced, is no longer under the torch. */
function checkEarlyMotion(): bool {
  const early = S.mode <= MODE_LOWER && tableMoves();
  // Steps are counted, not the feed alone: its low-pass still runs down after a rapid that has ended.
  if (!early) S.early_ms = 0;
  else if (!isZero(R.x_mm) || !isZero(R.y_mm)) S.early_ms++;
  if (S.early_ms >= EARLY_TICKS) return raised(FAULT_EARLY_MOTION);
  return false;
}

function checkReadings(): bool {
  S.reversed_ms = S.trigger && F.mean_V < D.reversed_V ? S.reversed_ms + 1 : 0;
  if (S.reversed_ms >= REVERSED_TICKS) return raised(FAULT_REVERSED);
  const cutting = S.mode >= MODE_SETTLE && S.mode <= MODE_HOLD;
  S.saturated_ms = cutting && F.saturated * 2 >= READINGS_PER_TICK ? S.saturated_ms + 1 : 0;
  if (S.saturated_ms >= SATURATED_TICKS) return raised(FAULT_READING_SATURATED);
  if (cutting && S.stuck_readings >= D.stuck_most_readings) return raised(FAULT_READING_STUCK);
  return false;
}

function checkArcTime(): bool {
  const burning = S.trigger && S.mode >= MODE_STRIKE && S.arc_ok;
  S.arc_ms = burning ? S.arc_ms + 1 : 0;
  if (S.arc_ms > D.arc_longest_ticks) return raised(FAULT_ARC_LONG);
  return false;
}

/** A permitted table that does not move: the arc burns away what is under it, or the box no longer sees the steps. */
function checkStandstill(): bool {
  S.standstill_ms = S.permit && !tableMoves() ? S.standstill_ms + 1 : 0;
  if (S.standstill_ms >= D.standstill_ticks) return raised(FAULT_STANDSTILL);
  return false;
}

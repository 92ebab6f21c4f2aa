// The mode machine: one exhaustive function, one step a tick.
//
//   rest    → seek      request taken: armed, homed, stop chain intact, no fault, voltage near zero
//   seek    → lift      the switch opened on the slow lift: the sheet is found
//   lift    → strike    at pierce height: trigger on
//   strike  → pierce    arc OK;  → strike (again)  no arc in time, attempts left, before any motion permit
//   pierce  → lower     the arc is proved (see proof.ts), dwell over;  → strike (again)  the arc is out, or a pilot
//   lower   → settle    at cut height: motion permit
//   settle  → follow    settled, target known
//   follow ⇄ hold       see hold.ts
//   any arc mode → retract   request or key off, or outputs that are to rest;   retract → rest   back where Z was taken over
//   any     → fault     see faults.ts;             fault → rest     reset, request off, cause gone

import {
  FAULT_NO_ARC,
  FAULT_NO_RESPONSE,
  FAULT_NO_VOLTAGE,
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
  REFUSAL_BREAKAWAY,
  REFUSAL_KEY,
  REFUSAL_NONE,
  REFUSAL_NOT_HOMED,
  REFUSAL_PARAMETERS,
  REFUSAL_REQUEST_HELD,
  REFUSAL_RESTING,
  REFUSAL_STOP_CHAIN,
  REFUSAL_VOLTAGE,
  STAGE_DOWN,
  STAGE_FALL,
  STAGE_FAST,
  STAGE_NONE,
  STAGE_OPEN,
  STAGE_OVER,
  STAGE_RISE,
  STAGE_STOP,
  STAGE_UP,
  STAGE_WAIT,
} from '../wire/codes.gen';
import {
  INPUT_KEY,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_REST,
  INPUT_STOP_CHAIN,
  TOUCH_OPEN_TICKS,
} from '../wire/layout.gen';
import { insideWindow, nearZero } from './arc';
import { aboveSheet, dropFraction, goTo, run, stop } from './axis';
import { beginCut, cutStep } from './cut';
import { firstContradiction, stopSteps } from './derived';
import { endTimers, raise, setMode } from './faults';
import { line } from './inputs';
import { beginAgain, beginProof, NO_RESPONSE, PROVED, REFUSED, strokeOver, watchStroke } from './proof';
import { WARM_UP_TICKS } from './sheet/slope';
import { D, P, R, S } from './state';
import { beginRise, risesOntoSheet, seekStep } from './touch-off';

export function sequenceStep(): void {
  if (S.timer < longest_ms()) S.timer++;
  const wanted = line(INPUT_REQUEST) && line(INPUT_KEY) && !line(INPUT_REST);
  if (S.mode != MODE_REST && S.mode != MODE_RETRACT && S.mode != MODE_FAULT && !wanted) endCut();
  switch (S.mode) {
    case MODE_REST:
      restStep();
      break;
    case MODE_SEEK:
      seekStep();
      break;
    case MODE_LIFT:
      if (goTo(aboveSheet(P.pierce_height_mm))) strike();
      break;
    case MODE_STRIKE:
      strikeStep();
      break;
    case MODE_PIERCE:
      pierceStep();
      break;
    case MODE_LOWER:
      lowerStep();
      break;
    case MODE_SETTLE:
    case MODE_FOLLOW:
    case MODE_HOLD:
      cutStep();
      break;
    case MODE_RETRACT:
      retractStep();
      break;
    default:
      faultStep();
  }
}

/** How far the timer is asked for in this mode and stage; where nobody asks it stands at 0. */
function longest_ms(): i32 {
  switch (S.mode) {
    case MODE_SEEK:
      return S.stage == STAGE_FAST ? 2 : S.stage == STAGE_OPEN ? TOUCH_OPEN_TICKS : 0;
    case MODE_STRIKE:
      return S.stage == STAGE_FALL ? 0 : D.strike_ticks;
    case MODE_PIERCE:
      return D.pierce_ticks;
    case MODE_SETTLE:
      return D.settle_ticks;
    case MODE_FOLLOW:
      return WARM_UP_TICKS;
    default:
      return 0;
  }
}

/** Why a request is not taken in rest; while a fault is latched, that fault is the reason (see raise). @returns the first reason against a start, or REFUSAL_NONE. */
function refusal(): i32 {
  if (line(INPUT_REST)) return REFUSAL_RESTING;
  if (!line(INPUT_STOP_CHAIN)) return REFUSAL_STOP_CHAIN;
  if (!S.armed) return REFUSAL_KEY;
  if (!S.breakaway) return REFUSAL_BREAKAWAY;
  if (!S.homed) return REFUSAL_NOT_HOMED;
  if (!nearZero()) return REFUSAL_VOLTAGE;
  if (firstContradiction() != 0) return REFUSAL_PARAMETERS;
  if (line(INPUT_REQUEST) && !S.request_was_off) return REFUSAL_REQUEST_HELD;
  return REFUSAL_NONE;
}

function restStep(): void {
  S.refusal = refusal();
  if (!line(INPUT_REQUEST)) return;
  // A refused request is used up: closing the stop chain or turning the key must never start a cut by itself.
  S.request_was_off = 0;
  if (S.refusal != REFUSAL_NONE) return;
  S.owned = 1;
  S.z = 0;
  S.touched_off = 0;
  S.strikes = 0;
  S.permit_was_given = 0;
  S.limited_ms = 0;
  R.velocity_mm_s = 0;
  dropFraction();
  setMode(MODE_SEEK, STAGE_FAST);
}

function strike(): void {
  S.trigger = 1;
  S.strikes++;
  R.proof_slope_V_per_mm = 0;
  setMode(MODE_STRIKE, STAGE_NONE);
}

function strikeStep(): void {
  stop();
  if (S.stage == STAGE_FALL) {
    if (nearZero()) setMode(MODE_LIFT, STAGE_NONE);
    return;
  }
  if (S.arc_ok) {
    setMode(MODE_PIERCE, STAGE_UP);
    beginProof();
  } else if (S.timer >= D.strike_ticks) {
    if (S.voltage_seen) strikeFailed(FAULT_NO_ARC);
    else raise(FAULT_NO_VOLTAGE);
  }
}

function pierceStep(): void {
  if (!S.arc_ok) {
    stop();
    strikeFailed(FAULT_NO_ARC);
  } else if (S.stage == STAGE_NONE) {
    stop();
    dwellStep();
  } else {
    watchStroke();
    if (strokesEnd()) stop();
    else moveStroke();
  }
}

/** The arc is proved, what is left of the dwell goes by. */
function dwellStep(): void {
  // What comes back into the window need not be the arc that was proved.
  if (!insideWindow()) {
    S.stage = STAGE_UP;
    beginAgain();
  } else if (S.timer >= D.pierce_ticks) {
    setMode(MODE_LOWER, STAGE_NONE);
  }
}

/** Up and over the top at the limits of the axis, never above the stroke nor below pierce height. */
function moveStroke(): void {
  const pierce = aboveSheet(P.pierce_height_mm);
  if (S.stage == STAGE_UP) {
    run(P.z_velocity_mm_s);
    if (S.z + stopSteps(R.velocity_mm_s) >= pierce + D.stroke_steps) S.stage = STAGE_OVER;
  } else if (S.stage == STAGE_OVER) {
    run(-P.z_velocity_mm_s);
    if (R.velocity_mm_s < 0 && S.z - stopSteps(R.velocity_mm_s) <= pierce) S.stage = STAGE_DOWN;
  } else if (goTo(pierce) && strokeOver()) {
    S.stage = STAGE_UP;
  }
}

/** The verdict of the strokes. @returns true when Z comes to rest in this tick */
function strokesEnd(): bool {
  if (S.verdict == PROVED) {
    S.proved = 1;
    S.stage = STAGE_NONE;
  } else if (S.verdict == REFUSED) {
    raise(FAULT_NO_RESPONSE);
  } else if (S.verdict != NO_RESPONSE) {
    return false;
  } else if (S.fired_ms < D.strike_ticks) {
    // A pilot may still transfer, as long as a strike may wait for it.
    beginProof();
    return false;
  } else {
    strikeFailed(FAULT_NO_RESPONSE);
  }
  return true;
}

function lowerStep(): void {
  if (!S.arc_ok) {
    stop();
    strikeFailed(FAULT_NO_ARC);
    return;
  }
  if (!insideWindow()) S.proved = 0;
  if (!goTo(aboveSheet(P.cut_height_mm))) return;
  if (S.proved) beginCut();
  else strikeFailed(FAULT_NO_ARC);
}

/** Another attempt, if one is left; only ever before the motion permit of this contour. @param fault if none is */
function strikeFailed(fault: i32): void {
  if (<f32>S.strikes > P.strike_retries) {
    raise(fault);
    return;
  }
  S.trigger = 0;
  setMode(MODE_STRIKE, STAGE_FALL);
}

/** Request or key off, or outputs that are to rest: trigger off in this tick. */
function endCut(): void {
  S.trigger = 0;
  S.permit = 0;
  endTimers();
  setMode(MODE_RETRACT, STAGE_FALL);
}

function retractStep(): void {
  if (S.stage == STAGE_FALL) {
    if (stop() && nearZero()) beginRise(MODE_RETRACT);
    return;
  }
  if (risesOntoSheet()) return;
  // Z that was taken away stays where it is.
  if (!S.owned || goTo(0)) release(MODE_REST, STAGE_NONE);
}

/** Hands Z back; only ever called in a tick without steps. */
function release(mode: i32, stage: i32): void {
  S.owned = 0;
  S.touched_off = 0;
  S.strikes = 0;
  dropFraction();
  setMode(mode, stage);
}

function faultStep(): void {
  if (S.stage == STAGE_WAIT) {
    const reset = line(INPUT_RESET);
    const clear = !line(INPUT_REQUEST) && line(INPUT_STOP_CHAIN) && S.breakaway && nearZero() && !line(INPUT_RELAY);
    if (reset && !S.reset_before && clear) {
      S.fault = 0;
      S.latched_stop = 0;
      S.permit_was_given = 0;
      setMode(MODE_REST, STAGE_NONE);
    }
    return;
  }
  if (S.stage != STAGE_STOP && (!line(INPUT_STOP_CHAIN) || !S.breakaway)) setMode(MODE_FAULT, STAGE_STOP);
  switch (S.stage) {
    case STAGE_FALL:
      if (stop() && nearZero()) beginRise(MODE_FAULT);
      break;
    case STAGE_RISE:
      if (risesOntoSheet()) return;
      if (!S.owned || goTo(0)) release(MODE_FAULT, STAGE_WAIT);
      break;
    default:
      if (!stop()) return;
      if (S.owned) S.homed = 0;
      release(MODE_FAULT, STAGE_WAIT);
  }
}

// The search for the sheet by the touch-off switch; and the same switch in a rise, where it must stay open.

import {
  FAULT_TOUCH_CLOSED,
  FAULT_TOUCH_MISSING,
  FAULT_TOUCH_STUCK,
  FAULT_TRAVEL,
  MODE_LIFT,
  MODE_SEEK,
  STAGE_BACK,
  STAGE_FAST,
  STAGE_NONE,
  STAGE_OPEN,
  STAGE_RISE,
  STAGE_SLOW,
} from '../wire/codes.gen';
import { TOUCH_OPEN_TICKS } from '../wire/layout.gen';
import { aboveSheet, atBounds, dropFraction, mmToSteps, run, stop } from './axis';
import { raise, setMode } from './faults';
import { D, P, R, S } from './state';

/** A switch that has not opened after this much lift is stuck, mm. */
const STUCK_LIFT_MM: f32 = 5;

/** One tick of the touch-off. */
export function seekStep(): void {
  switch (S.stage) {
    case STAGE_FAST:
      if (S.timer == 1 && S.touch) {
        raise(FAULT_TOUCH_CLOSED);
        return;
      }
      if (S.touch) contact(STAGE_BACK);
      run(S.touch ? P.seek_fast_mm_s * <f32>0.5 : -P.seek_fast_mm_s);
      break;
    case STAGE_BACK:
      if (!S.touch) setMode(MODE_SEEK, STAGE_SLOW);
      run(S.touch ? P.seek_fast_mm_s * <f32>0.5 : -P.seek_slow_mm_s);
      break;
    case STAGE_SLOW:
      if (S.touch) contact(STAGE_OPEN);
      run(S.touch ? P.seek_slow_mm_s : -P.seek_slow_mm_s);
      break;
    default:
      run(P.seek_slow_mm_s);
      openStep();
  }
  const down = R.velocity_mm_s < 0;
  if (-S.z > mmToSteps(P.seek_travel_mm) || (!S.touch && down && atBounds())) raise(FAULT_TOUCH_MISSING);
  else if (S.touch && (S.z - S.z_contact > mmToSteps(STUCK_LIFT_MM) || (!down && atBounds()))) raise(FAULT_TOUCH_STUCK);
}

function contact(next: i32): void {
  S.z_contact = S.z;
  setMode(MODE_SEEK, next);
}

/** Where the switch opened last (the first tick in which it is open), once it has stayed open: chatter is no opening. */
function openStep(): void {
  if (S.touch) S.timer = 0;
  else if (S.timer == 1) S.z_touched = S.z - mmToSteps(P.touch_offset_mm);
  if (S.timer >= TOUCH_OPEN_TICKS) touched();
}

function touched(): void {
  S.touched_off = 1;
  setMode(MODE_LIFT, STAGE_NONE);
  // Z never rises above where it was taken over: with the sheet this near, pierce height and a stroke above it cannot be reached.
  if (aboveSheet(P.pierce_height_mm) + D.stroke_steps > 0) raise(FAULT_TRAVEL);
}

export function beginRise(mode: i32): void {
  S.z_contact = S.touch ? S.z : S.z - mmToSteps(STUCK_LIFT_MM);
  setMode(mode, STAGE_RISE);
}

/** The touch-off switch closes in a rise, or stays closed: Z goes the wrong way, or the switch is stuck. */
export function risesOntoSheet(): bool {
  if (!S.owned || !S.touch || S.z - S.z_contact < mmToSteps(STUCK_LIFT_MM)) return false;
  dropFraction();
  stop();
  raise(FAULT_TOUCH_STUCK);
  return true;
}

import {
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
} from './codes.gen.js';

const to = (...modes: number[]) => modes.reduce((mask, mode) => mask | (1 << mode), 0);
const AWAY = to(MODE_RETRACT, MODE_FAULT);

/**
 * Where each mode may go, one bit a mode; staying is always allowed. A strike that failed lifts to pierce height and strikes
 * again. The requirement of recorded runs and the exploration of the module both go by it.
 */
export const NEXT_MODES: readonly number[] = (() => {
  const next: number[] = [];
  next[MODE_REST] = to(MODE_SEEK, MODE_FAULT);
  next[MODE_SEEK] = AWAY | to(MODE_LIFT);
  next[MODE_LIFT] = AWAY | to(MODE_STRIKE);
  next[MODE_STRIKE] = AWAY | to(MODE_PIERCE, MODE_LIFT);
  next[MODE_PIERCE] = AWAY | to(MODE_LOWER, MODE_STRIKE);
  next[MODE_LOWER] = AWAY | to(MODE_SETTLE, MODE_STRIKE);
  next[MODE_SETTLE] = AWAY | to(MODE_FOLLOW);
  next[MODE_FOLLOW] = AWAY | to(MODE_HOLD);
  next[MODE_HOLD] = AWAY | to(MODE_FOLLOW);
  next[MODE_RETRACT] = to(MODE_REST, MODE_FAULT);
  next[MODE_FAULT] = to(MODE_REST);
  return next;
})();

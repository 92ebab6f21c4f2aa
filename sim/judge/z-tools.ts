import type { RequirementContext } from './context.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';

/** Rows over which the speed of Z is taken from its steps: whole steps say nothing about a single tick. */
const SPEED_ROWS = 4;

/** Whole steps lag behind what is wanted by less than one, at each end of a distance. */
export const ROUNDING_STEPS = 2;

/** What the requirements about Z take from the parameters, in steps and ticks. */
export class ZLimits {
  readonly steps_per_mm: number;
  readonly velocity_mm_s: number;
  readonly acceleration_mm_s2: number;
  /** Steps that the play of a reversal may keep back. */
  readonly backlash_steps: number;

  constructor(context: RequirementContext) {
    const p = context.parameters;
    this.steps_per_mm = p.z_steps_per_mm;
    this.velocity_mm_s = p.z_velocity_mm_s;
    this.acceleration_mm_s2 = p.z_acceleration_mm_s2;
    this.backlash_steps = (p.reversal_um / 1000) * p.z_steps_per_mm;
  }

  /**
   * Speed just before a row, mm/s, from the steps of the last four rows; never less than the true one: half
   * of what it may have gained in that time is added, and a step. A reversal or a return to regulation drops what had not
   * been put out yet, which makes the mean too small; the fastest of the rows, and a step, is the other witness.
   * @param sign 1: upward speed; -1: downward speed; 0 if Z moved the other way
   */
  speedBefore_mm_s(s: Stretches, row: number, sign: 1 | -1): number {
    const at = HISTORY_ROWS + row - 1;
    const steps = sign * (s.z_at[at] - s.z_at[at - SPEED_ROWS]);
    if (steps <= 0) return 0;
    const gained_mm_s = (this.acceleration_mm_s2 * SPEED_ROWS) / 2000;
    const mean_mm_s = ((steps + 1) * 1000) / (SPEED_ROWS * this.steps_per_mm) + gained_mm_s;
    let fastest = 0;
    for (let back = 0; back < SPEED_ROWS; back++) {
      fastest = Math.max(fastest, sign * (s.z_at[at - back] - s.z_at[at - back - 1]));
    }
    return Math.max(mean_mm_s, ((fastest + 1) * 1000) / this.steps_per_mm);
  }

  /** Distance of a ramp from a speed to rest, in steps. */
  rampSteps(speed_mm_s: number): number {
    return ((speed_mm_s * speed_mm_s) / (2 * this.acceleration_mm_s2)) * this.steps_per_mm;
  }

  /** Time of that ramp, ms. */
  rampMs(speed_mm_s: number): number {
    return (speed_mm_s / this.acceleration_mm_s2) * 1000;
  }
}

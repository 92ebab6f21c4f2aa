import type { MotionLimits } from '../motion/index.js';
import type { MachineConfig } from '../plant/index.js';

/** Greatest step of the velocity vector at a corner that the table stands, mm/s. Assumption. */
const CORNER_VELOCITY_STEP_MM_S = 5;

/** What the table can do; it brakes as it accelerates. */
export function motionLimits({ table }: MachineConfig): MotionLimits {
  return {
    acceleration_mm_s2: table.acceleration_mm_s2,
    braking_mm_s2: table.acceleration_mm_s2,
    rapid_mm_s: table.rapid_mm_s,
    corner_velocity_step_mm_s: CORNER_VELOCITY_STEP_MM_S,
  };
}

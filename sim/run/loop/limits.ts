import type { MotionLimits } from '../../world/motion/index.js';
import type { MachineConfig } from '../../world/plant/index.js';

/** What the table can do, for the planner. */
export function motionLimits({ table }: MachineConfig): MotionLimits {
  const { acceleration_mm_s2, braking_mm_s2, rapid_mm_s, corner_velocity_step_mm_s } = table;
  return { acceleration_mm_s2, braking_mm_s2, rapid_mm_s, corner_velocity_step_mm_s };
}

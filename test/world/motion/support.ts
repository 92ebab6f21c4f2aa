import { type Origins, StandoffError } from '../../../sim/base/index.js';
import {
  type MotionLimits,
  MotionPlayer,
  MotionState,
  type Plan,
  type PlayerOptions,
  parseProgram,
  planProgram,
} from '../../../sim/world/motion/index.js';

/** A light table of round figures. */
export const LIMITS: MotionLimits = {
  acceleration_mm_s2: 1000,
  braking_mm_s2: 1000,
  rapid_mm_s: 200,
  corner_velocity_step_mm_s: 10,
};

export const planOf = (lines: readonly string[], limits = LIMITS, origins: Origins = {}): Plan =>
  planProgram(parseProgram(lines.join('\n'), 'test.nc', origins), limits);

export const playerOf = (lines: readonly string[], options: Partial<PlayerOptions> = {}): MotionPlayer =>
  new MotionPlayer(planOf(lines), { steps_per_mm: 100, ...options });

/** Runs to the end with the permit always given. @returns ticks. */
export function runThrough(player: MotionPlayer, eachTick: () => void = () => {}): number {
  let ticks = 0;
  while (player.table.state < MotionState.stopped) {
    player.advance(true);
    ticks++;
    eachTick();
  }
  return ticks;
}

/** The StandoffError that a program makes; undefined when it reads well. Any other error passes through. */
export function errorOf(text: string): StandoffError | undefined {
  try {
    parseProgram(text, 'test.nc');
    return undefined;
  } catch (error) {
    if (error instanceof StandoffError) return error;
    throw error;
  }
}

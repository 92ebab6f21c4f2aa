import { StandoffError } from '../../base/index.js';
import { layOut, type PlanColumns } from './columns.js';
import { type MotionLimits, planSpeeds } from './lookahead.js';
import type { Program } from './program.js';
import { type Survey, survey } from './survey.js';

/** A program with its path, speeds and times: all that a `MotionPlayer` needs. */
export interface Plan extends Survey {
  readonly file: string;
  readonly limits: MotionLimits;
  readonly steps: PlanColumns;
  /** Motion and dwells; the waits for the motion permit come on top. */
  readonly duration_s: number;
}

/**
 * Plans the motion of a program within the limits of the table.
 * @throws StandoffError when a limit is not above 0.
 */
export function planProgram(program: Program, limits: MotionLimits): Plan {
  for (const [name, value] of Object.entries(limits)) {
    if (value > 0 && value < Number.POSITIVE_INFINITY) continue;
    throw new StandoffError('motion-limit', `the limit ${name} is ${value}`, 'give a number above 0');
  }
  const steps = layOut(program, limits.rapid_mm_s);
  planSpeeds(steps, limits);
  const last = steps.count - 1;
  return {
    file: program.file,
    limits,
    steps,
    duration_s: steps.start_s[last] + steps.duration_s[last],
    ...survey(steps),
  };
}

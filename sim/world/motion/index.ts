export { type Diagnosis, type DiagnosisLevel, diagnosisSentence, diagnosisText } from './diagnoses.js';
export { EXAMPLE_NAME, EXAMPLE_PROGRAM } from './example.js';
export { angleOf, FULL_TURN_RAD, Rotation } from './geometry.js';
export { parseProgram } from './parse.js';
export { type Bounds, type Plan, planProgram, stepBounds } from './plan.js';
export { MotionPlayer, MotionState, type PlayerOptions, STOP_REASON_TEXTS, StopReason } from './player.js';
export { BlockKind, noteTexts, type Program } from './program.js';
export { circleSpeed_mm_s, type MotionLimits, peakSpeed_mm_s, trapezoid } from './speeds.js';
export { isArc, isMove, type PlanColumns } from './steps.js';
export {
  DANGER_ROWS,
  G_ROWS,
  JOB_DANGER_ROWS,
  LETTER_ROWS,
  M_ROWS,
  OTHER_ROWS,
  type WordClass,
  type WordRow,
} from './word-rows.js';

export { drawFrame, type SimulationProgress, type Size, trimWords, type ViewState } from './frame.js';
export {
  type BoxScene,
  type NowRow,
  type SimulatedScene,
  ViewHistory,
  type ViewScene,
  type WorstCause,
  type WorstMoment,
} from './history.js';
export { type LiveOptions, type LiveSource, LiveView } from './live.js';
export type { RunOutcome, RunSummary } from './run-summary.js';
export { type Said, statusLine } from './sentences.js';
export { type LiveEnd, type Pace, Stage, type StageOptions } from './stage.js';
export { stillPicture } from './still.js';
export { CAUTIONS, STOPPER_WORDS, summaryText } from './summary.js';

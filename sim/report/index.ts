export { type Advice, adviceFor } from './advice.js';
export { drawFrame } from './frame.js';
export { ViewHistory, type WorstCause, type WorstMoment } from './history.js';
export type { Size } from './layout.js';
export {
  type KeyStream,
  type LiveEnd,
  type LiveOptions,
  type LiveSource,
  LiveView,
  type Pace,
  type SignalSource,
} from './live.js';
export type { RunOutcome, RunSummary } from './run-summary.js';
export type { NowRow, ViewScene, ViewState } from './scene.js';
export type { ScreenStream } from './screen.js';
export { stillPicture } from './still.js';
export { type DrawStyle, type StreamTraits, type TerminalStyle, terminalStyle } from './style.js';
export { CAUTIONS, summaryText } from './summary.js';
export { asciiText } from './text.js';

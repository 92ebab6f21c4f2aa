export {
  cutLeg,
  type DeskLeg,
  type DeskTicks,
  type Difference,
  firstDifference,
  type LockstepOptions,
  type LockstepResult,
  randomLeg,
  runLockstep,
} from './lockstep.js';
export { type Hand, PracticeBox, PracticeTable } from './practice.js';
export { type BoxRow, type BoxSink, type Gap, SavedTrace, TelemetryBlocks } from './recording.js';
export {
  type Change,
  changesBetween,
  type Found,
  readBox,
  traceHead,
  WatchLink,
  type WatchLinkOptions,
  type WatchListener,
  writeChanges,
} from './watch.js';

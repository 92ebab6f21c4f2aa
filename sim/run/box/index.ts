export {
  type Difference,
  firstDifference,
  type LockstepOptions,
  type LockstepResult,
  runLockstep,
} from './lockstep.js';
export { cutLeg, type DeskLeg, type DeskTicks, randomLeg } from './lockstep-legs.js';
export { type Change, changesBetween, readBox, writeChanges } from './parameters.js';
export { type Hand, PracticeBox, PracticeTable } from './practice.js';
export { type BoxRow, type BoxSink, type Gap, SavedTrace, TelemetryBlocks } from './recording.js';
export { type Found, traceHead, WatchLink, type WatchLinkOptions, type WatchListener } from './watch.js';

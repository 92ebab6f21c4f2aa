export { modeGraph } from './graph.js';
export { INVARIANTS } from './invariants.js';
export { NOT_REACHED, type Reached } from './reach.js';
export {
  anythingFound,
  type BrokenInvariant,
  brokenInvariants,
  exploreAll,
  neverReached,
  nextModes,
} from './run.js';
export type { Broken, ExploreResult } from './worker.js';

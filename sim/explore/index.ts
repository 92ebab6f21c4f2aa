export { modeGraph, NOT_REACHED, type Reached } from './explorer.js';
export { INVARIANTS } from './invariants.js';
export type { Broken, ExploreResult } from './worker.js';
export {
  anythingFound,
  type BrokenInvariant,
  brokenInvariants,
  exploreAll,
  neverReached,
  nextModes,
} from './worker.js';

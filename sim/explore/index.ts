export { modeGraph, NOT_REACHED, type Reached } from './explorer.js';
export {
  anythingFound,
  type BrokenInvariant,
  brokenInvariants,
  neverReached,
  nextModes,
} from './findings.js';
export { INVARIANTS } from './invariants.js';
export type { Broken, ExploreResult } from './worker.js';
export { exploreAll } from './worker.js';

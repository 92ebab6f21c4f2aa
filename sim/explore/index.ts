export { modeGraph } from './graph.js';
export { INVARIANTS } from './invariants.js';
export { NOT_REACHED, type Reached } from './reach.js';
export { exploreAll } from './run.js';
export type { Broken, ExploreResult } from './worker.js';

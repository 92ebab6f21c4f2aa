export { asParts, readPair, readPairs, useOf, withCalibration, withDivider } from './electrical.js';
export { type Job, jobOf } from './job.js';
export { type JobOutcome, JobRun } from './job-run.js';
export { partsWarnings } from './parts.js';
export { type Advice, dutyOf, type Summary, summaryJsonSchema, summaryOf, summarySchema } from './summary.js';
export { arcTimes, contradictionsOf, fastestCut } from './together.js';
export { EDGE_MM, type Understood, understand } from './understood.js';

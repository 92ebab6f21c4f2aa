export { asParts, readPair, readPairs, useOf, withCalibration, withDivider } from './electrical.js';
export { type Job, jobOf, partsWarnings } from './job.js';
export { type JobOutcome, JobRun } from './job-run.js';
export { dutyOf, type Summary, summaryJsonSchema, summaryOf, summarySchema } from './summary.js';

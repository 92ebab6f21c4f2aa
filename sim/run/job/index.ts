export { readPair, readPairs } from './calibration-pairs.js';
export { asParts, useOf, withCalibration, withDivider } from './fitted-setup.js';
export { type Job, jobOf, partsWarnings } from './job.js';
export { type JobOutcome, JobRun } from './job-run.js';
export { dutyOf, type Summary, summaryJsonSchema, summaryOf, summarySchema } from './summary.js';

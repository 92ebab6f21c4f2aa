export { compareTraces, type TraceDifference } from './compare.js';
export { type QualityGoals, type RequirementContext, requirementContext } from './context.js';
export { Judge } from './judge.js';
export { CROSSING_AFTER_MS } from './meters.js';
export { type OwnRequirements, Requirement, type RequirementResult } from './requirement.js';
export { Stretches } from './stretches.js';
export type { ContourFigures, FaultFigures, HoldFigures, RunFigures } from './tally.js';

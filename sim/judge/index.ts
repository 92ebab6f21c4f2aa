export { compareTraces, type TraceDifference } from './compare.js';
export { type QualityGoals, type RequirementContext, requirementContext } from './context.js';
export { Judge } from './judge.js';
export { CROSSING_AFTER_MS } from './meters.js';
export { type OwnRequirements, Requirement, type RequirementResult } from './requirement.js';
export { CONTACT_MM } from './sequence-requirements.js';
export { Stretches } from './stretches.js';
export type { ContourFigures, FaultFigures, HoldFigures, RunFigures } from './tally.js';
export {
  type RunEnd,
  type RunStop,
  type RunVerdict,
  STOPPERS,
  type Stopper,
  VERDICT_WORDS,
  type VerdictWord,
} from './verdict.js';

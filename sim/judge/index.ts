export * from './compare.js';
export * from './context.js';
export * from './figures.js';
export * from './judge.js';
export { type OwnRequirements, Requirement, type RequirementResult } from './requirement.js';
export { Stretches } from './stretches.js';

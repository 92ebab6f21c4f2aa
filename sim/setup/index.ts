export { assignBox, assignValues } from './assign.js';
export { sameInBox, updateBox } from './box-section.js';
export { boxWarnings } from './contradictions.js';
export { EXAMPLE_SETUP, exampleSetup } from './example.js';
export { readScenario, type Scenario, type ScenarioEvent, writeScenario } from './scenario.js';
export { SCENARIO_FORMAT, scenarioJsonSchema, setupJsonSchema } from './schema.js';
export { type Box, defaultSetup, readSetup, type Setup } from './setup.js';
export { setupWarnings } from './warnings.js';
export { writeBox, writeSetup } from './write.js';

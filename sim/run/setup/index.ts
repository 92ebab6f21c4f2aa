export { assignBox, assignValues, quantityAt } from './assign.js';
export { boxWarnings, firstContradiction, setupWarnings } from './contradictions.js';
export {
  FIRST_QUESTIONS,
  type FirstAnswers,
  type FirstQuestion,
  firstRow,
  firstSetup,
} from './first.js';
export { readScenario, type Scenario, writeScenario } from './scenario.js';
export {
  GREATEST_SEED,
  ROWS_BY_PATH,
  SCENARIO_FORMAT,
  SECTION_ROWS,
  scenarioJsonSchema,
  setupJsonSchema,
} from './schema.js';
export { type Box, defaultSetup, EXAMPLE_SETUP, exampleSetup, readSetup, type Setup, statedPaths } from './setup.js';
export { likelyPaths, nearestWord } from './suggestions.js';
export { sameInBox, updateBox, writeBox, writeSetup } from './write.js';

export { ArbitraryInputs } from './arbitrary-inputs.js';
export { motionLimits } from './limits.js';
export { OPERATOR_LINES, type OperatorEvent, type OperatorLine } from './operator.js';
export { setParameters } from './parameters.js';
export { type Outcome, Runner, type RunOptions, run } from './runner.js';

export { motionLimits } from './limits.js';
export { OPERATOR_LINES, Operator, type OperatorEvent, type OperatorLine, PLAIN_OPERATOR } from './operator.js';
export { setParameters } from './parameters.js';
export { type Outcome, Runner, type RunOptions, run } from './runner.js';

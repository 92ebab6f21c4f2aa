export { ArbitraryInputs, OPERATOR_LINES, type OperatorEvent, type OperatorLine, PLAIN_OPERATOR } from './inputs.js';
export { motionLimits, type Outcome, Runner, type RunOptions, run, setParameters } from './runner.js';

export { type Bench, boardOf, type Deed, type Step, type StepResult, type Wire } from './bench.js';
export { rampResult } from './converter-step.js';
export { EmulatedBench, type PlantedDefect } from './emulated-bench.js';
export { wireWords } from './pin-steps.js';
export {
  type BringUpRecord,
  isDone,
  newRecord,
  noteLines,
  type RecordedStep,
  readRecord,
  withStep,
} from './record.js';
export { bringUpSteps } from './steps.js';

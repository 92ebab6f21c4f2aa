export { type Bench, boardOf, type Deed, type Step, type StepResult, type Wire } from './bench.js';
export { EmulatedBench, type PlantedDefect } from './emulated-bench.js';
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

/**
 * The public interface of the package: read a setup and a program, plan it, cut it through the control module, judge
 * the run.
 *
 * ```ts
 * const { box, machine, world } = exampleSetup();
 * const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
 * const judge = new Judge(requirementContext(box));
 * const controller = new WasmController(loadControlModule());
 * run({ box, machine, world, plan, seed: 1, controller }, [judge]);
 * console.log(judge.kept(), judge.figures.figures().standoff_error_rms_mm);
 * ```
 */

export { StandoffError } from './base/index.js';
export * as fuzzing from './campaign/index.js';
export * as bench from './electrical/index.js';
export * as board from './emulator/index.js';
export * as exploration from './explore/index.js';
export { Judge, type RequirementContext, type RequirementResult, requirementContext } from './judge/index.js';
export * as link from './link/index.js';
export * as boxRuns from './run/box/index.js';
export { type Controller, type ControlModule, loadControlModule, WasmController } from './run/controller/index.js';
export {
  type Job,
  type JobOutcome,
  JobRun,
  jobOf,
  type Summary,
  summaryJsonSchema,
  summaryOf,
  summarySchema,
} from './run/job/index.js';
export { motionLimits, type OperatorEvent, type Outcome, Runner, type RunOptions, run } from './run/loop/index.js';
export { exampleSetup, readScenario, readSetup, type Setup } from './run/setup/index.js';
export { COLUMN_ROWS, openCsvWriter, readCsv, type TraceBlock, TraceHash, type TraceSink } from './run/trace/index.js';
export {
  EXAMPLE_NAME,
  EXAMPLE_PROGRAM,
  type Plan,
  type Program,
  parseProgram,
  planProgram,
} from './world/motion/index.js';

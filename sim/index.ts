/**
 * The public interface of the package, by area: read a setup and a program, plan it, cut it through the control module, judge
 * the run; many random cuts; the electrical arithmetic; the box on its link, real or emulated. Every error that a user can
 * cause is a StandoffError with a code, what was wrong and what to do.
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

// What box and host agree on: modes, faults, bits of inputs and outputs, and the rows that they come from.
export {
  type CodeRow,
  FAULT_ROWS,
  type FaultRow,
  HOLD_ROWS,
  MODE_ROWS,
  REFUSAL_ROWS,
  STAGE_ROWS,
} from '../firmware/wire/code-rows.js';
export * from '../firmware/wire/codes.gen.js';
export * from '../firmware/wire/layout.gen.js';
export { BOOT_ROWS, SERVICE_ROWS, type ServiceRow, STATUS_ROWS } from '../firmware/wire/link-rows.js';
export {
  PARAMETER_ROWS,
  type ParameterName,
  type ParameterRow,
  type ParameterValues,
} from '../firmware/wire/parameter-rows.js';
export { StandoffError, type StandoffErrorCode } from './base/index.js';
// Random cuts in great number; divider, filter, supply, calibration; the emulated board; every state of the sequence; the link.
export * as campaign from './campaign/index.js';
export * as electrical from './electrical/index.js';
export * as emulator from './emulator/index.js';
export * as exploration from './explore/index.js';
// Whether a run kept its requirements, and how good it was.
export {
  Judge,
  type OwnRequirements,
  type QualityGoals,
  Requirement,
  type RequirementContext,
  type RequirementResult,
  type RunEnd,
  type RunFigures,
  type RunStop,
  type RunVerdict,
  requirementContext,
  Stretches,
} from './judge/index.js';
export * as link from './link/index.js';
// What to change after a cut that did not go well.
export { advise } from './run/advice/index.js';
export * as boxRuns from './run/box/index.js';
// A run: a controller, the loop, the setup, the record.
export {
  type Controller,
  type ControllerOutput,
  type ControlModule,
  loadControlModule,
  WasmController,
} from './run/controller/index.js';
export {
  type Advice,
  type Job,
  type JobOutcome,
  JobRun,
  jobOf,
  type Summary,
  summaryJsonSchema,
  summaryOf,
  summarySchema,
} from './run/job/index.js';
export {
  motionLimits,
  OPERATOR_LINES,
  type OperatorEvent,
  type OperatorLine,
  type Outcome,
  Runner,
  type RunOptions,
  run,
} from './run/loop/index.js';
export {
  assignValues,
  type Box,
  defaultSetup,
  EXAMPLE_SETUP,
  exampleSetup,
  readScenario,
  readSetup,
  type Scenario,
  type Setup,
  setupJsonSchema,
  setupWarnings,
  writeScenario,
  writeSetup,
} from './run/setup/index.js';
export {
  COLUMN_ROWS,
  CsvWriter,
  openCsvWriter,
  readCsv,
  type TraceBlock,
  TraceHash,
  type TraceSink,
} from './run/trace/index.js';
// The program and its motion; machine and world.
export {
  EXAMPLE_NAME,
  EXAMPLE_PROGRAM,
  type MotionLimits,
  type Plan,
  type Program,
  parseProgram,
  planProgram,
} from './world/motion/index.js';
export {
  DEFAULT_MACHINE,
  DEFAULT_WORLD,
  FAULT_ROWS as WORLD_FAULT_ROWS,
  type Fault,
  type FaultKind,
  type FaultRow as WorldFaultRow,
  MACHINE_ROWS,
  type MachineConfig,
  type Row,
  WORLD_ROWS,
  type WorldConfig,
  withValues,
} from './world/plant/index.js';

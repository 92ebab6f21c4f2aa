export type { Budget, ErrorSum, ErrorTerm } from './budget.js';
export { type Calibration, calibrate, type Pair } from './calibration.js';
export { type Tap, tapOf } from './circuit.js';
export { type DataSheet, dataSheet } from './data-sheet.js';
export { circuitSvg, netlistOf } from './drawing.js';
export {
  type ArcTime,
  DUTY_PERIOD_S,
  DUTY_PERIOD_SOURCE,
  DUTY_RULE_SOURCE,
  type DutyReport,
  type DutyStudy,
  dutyAt_percent,
  dutyReport,
  repeatedArcs,
  studyDuty,
  timeLine,
} from './duty.js';
export type { FaultEffect, SingleFault } from './faults.js';
export { DEFAULT_LIMITS, LIMIT_ROWS, type LimitName, type LimitRow, type Limits } from './limits.js';
export type { ElectricalMachine, Use } from './machine.js';
export { type Source, sourceText } from './machine.js';
export { ohmText } from './parts.js';
export { PUMP, type PumpValues, pumpFor, pumpWarning } from './pump.js';
export { type ReadyMade, type ReadyMadeSheet, ratioOf, readyMadeSheet } from './ready-made.js';
export { MOST_TIMES, type Relaxation, relaxations, typedLimit } from './relax.js';
export { type Proposal, type SearchResult, searchDesigns } from './search.js';
export { DERATING } from './stress.js';
export {
  judgeSupply,
  type Suitability,
  type SupplyAnswers,
  type SupplyJudgement,
  type SupplyQuestion,
} from './supply-fit.js';
export {
  BLANK_WORKSHEET,
  DEAD_V,
  deriveWorksheet,
  KNOWN_POINTS,
  type KnownPoint,
  type MeasuredPair,
  readWorksheet,
  type Worksheet,
} from './worksheet.js';

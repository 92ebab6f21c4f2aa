export type { MachineConfig, WorldConfig } from './config.gen.js';
export { FAULT_ROWS, type Fault, type FaultKind, type FaultRow } from './faults.js';
export { DEFAULT_MACHINE, MACHINE_ROWS } from './machine-rows.js';
export { type Row, refuseOtherNames, type Spread, type Sum, withValues } from './rows.js';
export { steepestSheet } from './sheet.js';
export { type InputPower, inputCurrent_A } from './supply.js';
export { World } from './world.js';
export { DEFAULT_WORLD, WORLD_ROWS } from './world-rows.js';

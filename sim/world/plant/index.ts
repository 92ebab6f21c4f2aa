export { DEFAULT_MACHINE, DEFAULT_WORLD } from './config.js';
export { FAULT_ROWS, type Fault, type FaultKind, type FaultRow } from './faults.js';
export type { MachineConfig } from './machine-config.js';
export { MACHINE_ROWS } from './machine-rows.js';
export { type Row, refuseOtherNames, withValues } from './rows.js';
export { DutyWindow, type InputPower, inputCurrent_A } from './supply.js';
export { World } from './world.js';
export type { WorldConfig } from './world-config.js';
export { WORLD_ROWS } from './world-rows.js';

export type { MachineConfig, WorldConfig } from './config.gen.js';
export { DEFAULT_MACHINE, DEFAULT_WORLD } from './config.js';
export { FAULT_ROWS, type Fault, type FaultKind, type FaultRow } from './faults.js';
export { MACHINE_ROWS } from './machine-rows.js';
export { type Row, refuseOtherNames, type Spread, withValues } from './rows.js';
export { DutyWindow, type InputPower, inputCurrent_A } from './supply.js';
export { World } from './world.js';
export { WORLD_ROWS } from './world-rows.js';

import type { MachineConfig, WorldConfig } from './config.gen.js';
import { MACHINE_ROWS } from './machine-rows.js';
import { defaultsOf } from './rows.js';
import { WORLD_ROWS } from './world-rows.js';

/** The machine as its rows give it: an invented example table. */
export const DEFAULT_MACHINE = defaultsOf(MACHINE_ROWS) as unknown as MachineConfig;

/** The world as its rows give it, with nothing broken. */
export const DEFAULT_WORLD = { ...defaultsOf(WORLD_ROWS), faults: [] } as unknown as WorldConfig;

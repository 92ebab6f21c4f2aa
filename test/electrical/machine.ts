import type { ElectricalMachine, Use } from '../../sim/electrical/index.js';
import { DEFAULT_MACHINE, withValues } from '../../sim/world/plant/index.js';

/** The example's machine, changed at some paths such as `divider.top_kohm`. */
export const machineWith = (values: Readonly<Record<string, number>> = {}): ElectricalMachine =>
  withValues(DEFAULT_MACHINE, values);

export const USE: Use = {
  target_V: 118,
  highest_V: 190,
  slope_V_per_mm: 4,
  loop_per_s: 22,
  inverter_kHz: 20.03,
};

import { tapOf } from '../../electrical/index.js';
import type { MachineConfig } from '../../world/plant/index.js';

/** The ratio and the time constant may be rounded to three digits and still agree with the parts; assumption. */
const ROUNDED = 0.005;

/** Where the machine section's ratio and time constant are not what its resistors and its capacitor make. */
export function partsWarnings(machine: MachineConfig): string[] {
  const made = tapOf(machine);
  return (['ratio', 'rc_ms'] as const)
    .filter((name) => Math.abs(machine.divider[name] / made[name] - 1) > ROUNDED)
    .map((name) => {
      const value = Number(made[name].toPrecision(4));
      return `machine.divider.${name} is ${machine.divider[name]}, but its parts make it ${value}`;
    });
}

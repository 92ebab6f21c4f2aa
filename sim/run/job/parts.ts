import { pumpWarning, tapOf } from '../../electrical/index.js';
import type { MachineConfig } from '../../world/plant/index.js';

/** The ratio and the time constant may be rounded to three digits and still agree with the parts; assumption. */
const ROUNDED = 0.005;

/** Where the machine section's ratio and time constant are not what its parts make, and a coil that the pump does not hold. */
export function partsWarnings(machine: MachineConfig): string[] {
  const made = tapOf(machine);
  const divider = (['ratio', 'rc_ms'] as const)
    .filter((name) => Math.abs(machine.divider[name] / made[name] - 1) > ROUNDED)
    .map((name) => {
      const value = Number(made[name].toPrecision(4));
      return `machine.divider.${name} is ${machine.divider[name]}, but its parts make it ${value}`;
    });
  return [...divider, ...[pumpWarning(machine.firing.coil_mW)].filter((text) => text !== undefined)];
}

import type { ParameterName } from '../../../firmware/wire/parameter-rows.js';
import type { Setup } from './setup.js';

/**
 * Where box and machine do not tell the same counterexample. That can be meant (a wrong calibration is worth a trial), so
 * it is told and not refused. One sentence each.
 */
export function setupWarnings({ box, machine, world }: Setup): string[] {
  const texts: string[] = [];
  const tell = (differs: boolean, text: string) => {
    if (differs) texts.push(text);
  };
  const same = (name: ParameterName, path: string, in_machine: number, tolerance = 0) => {
    const in_box = box[name];
    const differs = Math.abs(in_box - in_machine) > tolerance * Math.abs(in_machine);
    tell(differs, `box.${name} is ${in_box}, but ${path} makes it ${rounded(in_machine)}`);
  };
  const { axis, table, supply, divider, converter } = machine;
  same('z_steps_per_mm', 'machine.axis.steps_per_mm', axis.steps_per_mm);
  same('x_steps_per_mm', 'machine.table.x_steps_per_mm', table.x_steps_per_mm);
  same('y_steps_per_mm', 'machine.table.y_steps_per_mm', table.y_steps_per_mm);
  same('mains_Hz', 'machine.supply.mains_Hz', supply.mains_Hz);
  const step_mV = (converter.reference_V * 1000) / 2 ** converter.bits;
  const chain = 'machine (divider.ratio × converter.reference_V / codes)';
  same('reading_gain_mV', chain, divider.ratio * step_mV, CALIBRATION);
  same('reading_zero_counts', 'machine.converter.zero_counts', converter.zero_counts);

  const above = (name: ParameterName, path: string, limit: number, consequence: string) =>
    tell(box[name] > limit, `box.${name} is ${box[name]}, above ${path} (${limit}): ${consequence}`);
  above('z_velocity_mm_s', 'machine.axis.velocity_mm_s', axis.velocity_mm_s, 'Z will lose steps');
  above('z_acceleration_mm_s2', 'machine.axis.acceleration_mm_s2', axis.acceleration_mm_s2, 'Z will lose steps');
  above('pierce_height_mm', 'world.arc.transfer_height_mm', world.arc.transfer_height_mm, 'the arc will not transfer');
  return texts;
}

/** A calibration nearer than this to the parts' nominal values is no mistake: resistors of 0.5 %. Assumption. */
const CALIBRATION = 0.005;

const rounded = (value: number): number => Number(value.toPrecision(5));

import { SET_DONE } from '../../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { brokenPairs, contradictionOf } from '../../../firmware/wire/relation-rows.js';
import { StandoffError } from '../../base/index.js';
import type { MachineConfig, WorldConfig } from '../../world/plant/index.js';
import { loadControlModule, WasmController } from '../controller/index.js';

/**
 * Where box and machine disagree. That can be meant (a wrong calibration is worth a trial), so it is told and not refused.
 * One sentence each.
 */
export function setupWarnings({
  box,
  machine,
  world,
}: {
  readonly box: Readonly<Record<string, number>>;
  readonly machine: MachineConfig;
  readonly world: WorldConfig;
}): string[] {
  const texts: string[] = [];
  const tell = (differs: boolean, text: string) => {
    if (differs) texts.push(text);
  };
  const same = (name: string, path: string, in_machine: number, tolerance = 0) => {
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

  const above = (name: string, path: string, limit: number, consequence: string) =>
    tell(box[name] > limit, `box.${name} is ${box[name]}, above ${path} (${limit}): ${consequence}`);
  above('z_velocity_mm_s', 'machine.axis.velocity_mm_s', axis.velocity_mm_s, 'Z will lose steps');
  above('z_acceleration_mm_s2', 'machine.axis.acceleration_mm_s2', axis.acceleration_mm_s2, 'Z will lose steps');
  texts.push(...boxWarnings(box));
  above('pierce_height_mm', 'world.arc.transfer_height_mm', world.arc.transfer_height_mm, 'the arc will not transfer');
  return texts;
}

/** A calibration nearer than this to the parts' nominal values is no mistake: resistors of 0.5 %. Assumption. */
const CALIBRATION = 0.005;

const rounded = (value: number): number => Number(value.toPrecision(5));

/** The module that is asked; its parameters are those of the last question. */
let asked: WasmController | undefined;

/** What no run and no box gets, although each value alone is inside its range. */
interface Refusal {
  readonly code: 'setup-contradiction';
  /** Where the values stand, with their section: `box.target_V`. */
  readonly paths: readonly string[];
  readonly what: string;
  readonly remedy: string;
}

/**
 * The first relation that the parameters break, as the control module says it.
 * @param box every parameter, each inside its range
 * @throws StandoffError `parameter-range` for a value that the module does not take, `module-missing`
 */
export function firstContradiction(box: Readonly<Record<string, number>>): Refusal | undefined {
  asked ??= new WasmController(loadControlModule());
  for (const { id, name, min, max, unit } of PARAMETER_ROWS) {
    const value = box[name];
    if (asked.parameter(id) === Math.fround(value) || asked.setParameter(id, value) === SET_DONE) continue;
    throw new StandoffError(
      'parameter-range',
      `${name} = ${value} is outside its range`,
      `give ${min} to ${max} ${unit}`,
    );
  }
  const ids = asked.contradiction();
  return ids && refusalOf(ids, box, asked.capacity);
}

function refusalOf(ids: readonly [number, number], box: Readonly<Record<string, number>>, capacity: number) {
  const found = contradictionOf(ids, box, capacity);
  if (found === undefined) return undefined;
  const { names, what, remedy } = found;
  return { code: 'setup-contradiction', paths: names.map((name) => `box.${name}`), what, remedy } as const;
}

/** Every pair that is broken, once the module has said that one is. */
function contradictionsIn(box: Readonly<Record<string, number>>): Refusal[] {
  const first = firstContradiction(box);
  if (first === undefined) return [];
  const all = brokenPairs(box).flatMap((ids) => refusalOf(ids, box, 0) ?? []);
  return [first, ...all.filter(({ what }) => what !== first.what)];
}

/** Parameters that nothing uses any more, given another value than their default: one sentence each, with what to do. */
export const boxWarnings = (box: Readonly<Record<string, number>>): string[] =>
  PARAMETER_ROWS.flatMap(({ name, retired, default: usual }) =>
    retired === undefined || (box[name] ?? usual) === usual
      ? []
      : [`${name} ${box[name]} has no effect any more: ${retired}. Leave it out, or set it to ${usual}.`],
  );

type Place = (paths: readonly string[]) => string;

/**
 * @param place where one of these values stands, followed by a colon and a blank; empty when it is not in a file
 * @throws StandoffError with the code of what is refused; every contradiction is named in it
 */
export function refuseBox(box: Readonly<Record<string, number>>, place: Place = () => ''): void {
  const found = contradictionsIn(box);
  if (found.length === 0) return;
  const what = found.map((one) => place(one.paths) + one.what).join('; and ');
  throw new StandoffError(found[0].code, what, [...new Set(found.map(({ remedy }) => remedy))].join('; '));
}

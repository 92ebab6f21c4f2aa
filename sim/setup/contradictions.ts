import { SET_DONE } from '../../firmware/wire/layout.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { type Contradiction, contradictionOf } from '../../firmware/wire/relation-rows.js';
import { StandoffError } from '../base/index.js';
import { loadControlModule, WasmController } from '../controller/index.js';

/** The module that is asked; its parameters are those of the last question. */
let asked: WasmController | undefined;

/**
 * The first relation that the parameters break, as the control module says it.
 * @param box every parameter, each inside its range
 * @throws StandoffError `parameter-range` for a value that the module does not take, `module-missing`
 */
export function firstContradiction(box: Readonly<Record<string, number>>): Contradiction | undefined {
  asked ??= new WasmController(loadControlModule());
  for (const { id, name, min, max, unit } of PARAMETER_ROWS) {
    const value = box[name]!;
    if (asked.parameter(id) === Math.fround(value) || asked.setParameter(id, value) === SET_DONE) continue;
    throw new StandoffError(
      'parameter-range',
      `${name} = ${value} is outside its range`,
      `give ${min} to ${max} ${unit}`,
    );
  }
  const found = asked.contradiction();
  return found && contradictionOf(found, box, asked.capacity);
}

/**
 * @param place where one of these parameters stands, followed by a colon and a blank; empty when it is not in a file
 * @throws StandoffError `setup-contradiction`
 */
export function refuseContradiction(
  box: Readonly<Record<string, number>>,
  place: (names: readonly string[]) => string,
): void {
  const found = firstContradiction(box);
  if (found) throw new StandoffError('setup-contradiction', place(found.names) + found.what, found.remedy);
}

import { SET_DONE, SET_RANGE } from '../../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import type { Controller } from '../controller/index.js';

const ROWS = new Map(PARAMETER_ROWS.map((row) => [row.name as string, row]));

/**
 * Gives the controller its parameters, one by one, as the link does.
 * @throws StandoffError parameter-unknown, parameter-range, parameter-refused
 */
export function setParameters(controller: Controller, box: Readonly<Record<string, number>>): void {
  for (const [name, value] of Object.entries(box)) {
    const row = ROWS.get(name);
    if (row === undefined) {
      throw new StandoffError('parameter-unknown', `there is no parameter ${name}`, 'see the table of parameters');
    }
    const answer = controller.setParameter(row.id, value);
    if (answer === SET_DONE) continue;
    if (answer === SET_RANGE) {
      const range = `${row.min} to ${row.max} ${row.unit}${row.integer ? ', whole' : ''}`;
      throw new StandoffError('parameter-range', `${name} = ${value} is outside its range`, `give ${range}`);
    }
    throw new StandoffError(
      'parameter-refused',
      `the box does not take ${name} = ${value} now`,
      'turn the key off, wait until it is at rest and the voltage near zero',
    );
  }
}

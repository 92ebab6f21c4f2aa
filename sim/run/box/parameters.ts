import { PARAMETER_ROWS, type ParameterRow, type ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { readParameters, type Session, writeParameters } from '../../link/index.js';
import { sameInBox } from '../setup/index.js';
import { f32Text } from '../trace/index.js';

/**
 * The parameters in a box as the section `box` of a setup has them: by name, each as the shortest number that the box
 * stores as this one. A box holds 32 bits, and 96.68 is not 96.68000030517578.
 * @throws StandoffError `box-…`, `link-…`
 */
export async function readBox(session: Session): Promise<ParameterValues> {
  const held = Object.entries(await readParameters(session));
  return Object.fromEntries(held.map(([name, value]) => [name, Number(f32Text(Math.fround(value)))]));
}

/** A parameter that will get another value. */
export interface Change {
  readonly row: ParameterRow;
  readonly before: number;
  readonly after: number;
}

/** What differs, in the order of the table; compared as the box stores it. What only one of them has is left out. */
export const changesBetween = (before: ParameterValues, after: ParameterValues): Change[] =>
  PARAMETER_ROWS.flatMap((row) => {
    const [was, will] = [before[row.name], after[row.name]];
    if (was === undefined || will === undefined || sameInBox(was, will)) return [];
    return [{ row, before: was, after: will }];
  });

/**
 * Lets the box check all of the changes together, use them and keep them.
 * @returns the generation of the parameters kept
 * @throws StandoffError `box-…` with the parameter that was refused
 */
export const writeChanges = (session: Session, changes: readonly Change[]): Promise<number> =>
  writeParameters(session, Object.fromEntries(changes.map(({ row, after }) => [row.name, after])));

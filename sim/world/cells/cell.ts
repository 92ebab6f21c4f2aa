/**
 * What crosses between the host and the world module, as rows: a cell is one number at one place in the memory that both
 * see. From the rows come the classes of the module's sources (generated) and the host's view of them, so that neither
 * side has a list of its own.
 */

/** `given`: the host sets it before the first tick. `state`: 0 at the start, the module's from then on. */
export type CellRole = 'given' | 'state';

export interface CellRow {
  readonly name: string;
  readonly type: 'f64' | 'i32';
  readonly unit: string;
  readonly role: CellRole;
  readonly meaning: string;
}

/** Cells that belong together: a class in the module's sources, an object on the host. */
export interface CellPart {
  readonly part: string;
  readonly meaning: string;
  readonly cells: readonly CellRow[];
}

/** Numbers in a row, at a fixed place: rings, tables, states of generators. */
export interface ArrayRow {
  readonly name: string;
  readonly type: 'f64' | 'i32';
  readonly count: number;
  readonly meaning: string;
}

const row =
  <const Type extends CellRow['type'], const Role extends CellRole>(type: Type, role: Role) =>
  <const Name extends string>(name: Name, unit: string, meaning: string) => ({ name, type, unit, role, meaning });

/** A real that the host sets before the first tick. */
export const given = row('f64', 'given');
/** An integer that the host sets before the first tick. */
export const givenInteger = row('i32', 'given');
/** A real that is 0 at the start. */
export const state = row('f64', 'state');
/** An integer that is 0 at the start. */
export const stateInteger = row('i32', 'state');

import { PARAMETER_ROWS, type ParameterRow, type ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { sameInBox } from '../../run/setup/index.js';
import { f32Text } from '../../run/trace/f32-text.js';
import { type Alignment, tableLines } from '../../views/terminal/table.js';

const unitOf = ({ unit }: ParameterRow): string => (unit === '1' ? '' : unit);
const withUnit = (row: ParameterRow, value: number): string => `${f32Text(value)} ${unitOf(row)}`.trimEnd();

/** The shortest number that the box stores as this one: a box holds 32 bits, and 96.68 is not 96.68000030517578. */
export const tidyF32 = (value: number): number => Number(f32Text(Math.fround(value)));

/** Values by id, as the link gives them, by name. */
export function boxOf(values: readonly { readonly id: number; readonly value: number }[]): ParameterValues {
  const names = new Map(PARAMETER_ROWS.map(({ id, name }) => [id, name]));
  return Object.fromEntries(
    values.flatMap(({ id, value }) => (names.has(id) ? [[names.get(id)!, tidyF32(value)]] : [])),
  );
}

/** Every parameter with its unit; what differs from its default has the default beside it. */
export function parameterLines(box: ParameterValues, width: number): string[] {
  const rows = PARAMETER_ROWS.filter(({ name }) => box[name] !== undefined).map((row) => {
    const value = box[row.name]!;
    const note = sameInBox(value, row.default) ? '' : `default ${f32Text(row.default)}`;
    return [row.name, f32Text(value), unitOf(row), note];
  });
  return fittedTable(rows, ['left', 'right', 'left', 'left'], width);
}

/** A parameter that will get another value. */
export interface Change {
  readonly row: ParameterRow;
  readonly before: number;
  readonly after: number;
}

/** What differs, in the order of the table; compared as the box stores it. */
export const changesBetween = (before: ParameterValues, after: ParameterValues): Change[] =>
  PARAMETER_ROWS.flatMap((row) => {
    const [was, will] = [before[row.name], after[row.name]];
    if (was === undefined || will === undefined || sameInBox(was, will)) return [];
    return [{ row, before: was, after: will }];
  });

/** `pierce_ms  500 → 400 ms`, one line each. */
export function changeLines(changes: readonly Change[], width: number): string[] {
  const rows = changes.map(({ row, before, after }) => [row.name, f32Text(before), '→', withUnit(row, after)]);
  return fittedTable(rows, ['left', 'right', 'left', 'left'], width);
}

/** A table without a head; where it is too wide, one entry a line with single blanks. */
function fittedTable(rows: readonly (readonly string[])[], sides: readonly Alignment[], width: number): string[] {
  if (rows.length === 0) return [];
  const table = tableLines(rows[0]!, rows.slice(1), sides, width);
  return table ?? rows.map((row) => row.filter((cell) => cell !== '').join(' '));
}

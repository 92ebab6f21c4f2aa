import type { CellType } from '../../../firmware/wire/tick-rows.js';
import type { ColumnName } from './block.gen.js';
import { COLUMN_ROWS } from './columns.js';

/*
 * The file of a recorded run, format `standoff trace 2`: text, UTF-8, lines ended by LF, plain or gzip.
 *
 *     # standoff trace 2
 *     # seed: 7
 *     # module_sha256: 3f…
 *     tick,digital_inputs_bits,reading_counts,…
 *     0,7,124,…
 *
 * - The first line names the format and its version. Whatever changes the columns or their meaning changes the
 *   version.
 * - Any number of lines `# name: value` follow: what the run was made from. A name has letters, digits, `_`, `.`
 *   and `-`; the value is the rest of the line.
 * - One line of column names, each with its unit (see `HEADINGS`).
 * - One line a tick (1 ms), as many cells as names, separated by commas, without blanks or quotes. Ticks count
 *   from power-up and leave none out. A real number is the shortest decimal that reads back as the same f32;
 *   `NaN`, `Infinity`, `-Infinity` and `-0` are spelled so.
 * - With `# source: box` in the head the run was not simulated but received from a box. Such a file has the columns
 *   that a box sends and no others, and its ticks may leave some out: rows that were not asked for, or lost on the way.
 *   Read, the columns that it does not have are NaN, or 0 where they are whole numbers.
 */

export const FORMAT = 'standoff trace 2';
export const FORMAT_LINE = `# ${FORMAT}`;

/** What the run was made from, in the order in which it is written. */
export type TraceHead = Readonly<Record<string, string | number>>;

/** How a unit looks inside a column name. */
function unitWord(unit: string): string {
  if (unit === '0/1') return '0or1';
  return unit.replaceAll('/', '_');
}

const NAMES: ReadonlySet<string> = new Set(COLUMN_ROWS.map(({ name }) => name));

/**
 * A column's heading: its name, `_`, its unit. The unit is not said twice when the name ends in it (`measured_V`,
 * `lost_steps`). Where name and unit together are the name of another column, `_in_` joins them (`z_in_steps`,
 * beside `z_steps`). A pure number has the unit 1.
 */
function heading(name: string, unit: string): string {
  const word = unitWord(unit);
  if (name === word || name.endsWith(`_${word}`)) return name;
  const joined = `${name}_${word}`;
  return NAMES.has(joined) ? `${name}_in_${word}` : joined;
}

export interface Heading {
  readonly column: ColumnName;
  readonly type: CellType;
  readonly heading: string;
}

/** Every column with its heading, in the order of the file, after `tick`. */
export const HEADINGS: readonly Heading[] = COLUMN_ROWS.map(({ name: column, type, unit }) => ({
  column,
  type,
  heading: heading(column, unit),
}));

const headingLine = (headings: readonly Heading[]) => ['tick', ...headings.map((row) => row.heading)].join(',');

export const HEADING_LINE = headingLine(HEADINGS);

/** The value of `source` in the head of a trace that came from a box. */
export const SOURCE_BOX = 'box';

const SENT_BY_BOX: ReadonlySet<string> = new Set(
  COLUMN_ROWS.filter(({ telemetry }) => telemetry).map(({ name }) => name),
);
export const BOX_HEADINGS: readonly Heading[] = HEADINGS.filter(({ column }) => SENT_BY_BOX.has(column));
export const BOX_HEADING_LINE = headingLine(BOX_HEADINGS);

/** Least and largest value of an integer column. */
export const INTEGER_RANGES = {
  u8: [0, 0xff],
  u16: [0, 0xffff],
  i16: [-0x8000, 0x7fff],
  i32: [-0x80000000, 0x7fffffff],
} as const;

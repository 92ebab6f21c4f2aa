import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import { PARAMETER_ROWS, type ParameterRow } from '../../../firmware/wire/parameter-rows.js';
import { type BoxEvent, eventText, type Identity, moduleWords, NO_SLOT, startWords } from '../../link/index.js';
import type { Change } from '../../run/box/index.js';
import { type Box, sameInBox } from '../../run/setup/index.js';
import { f32Text } from '../../run/trace/index.js';
import { type Alignment, tableLines } from '../../views/terminal/table.js';
import { clockText, fixed, wrapText } from '../../views/terminal/text.js';

const unitOf = ({ unit }: ParameterRow): string => (unit === '1' ? '' : unit);
const withUnit = (row: ParameterRow, value: number): string => `${f32Text(value)} ${unitOf(row)}`.trimEnd();

/** Every parameter with its unit, and with its default where it differs. */
export function parameterLines(box: Box, width: number): string[] {
  const rows = PARAMETER_ROWS.filter(({ name }) => box[name] !== undefined).map((row) => {
    const value = box[row.name];
    const note = sameInBox(value, row.default) ? '' : `default ${f32Text(row.default)}`;
    return [row.name, f32Text(value), unitOf(row), note];
  });
  return fittedTable(rows, ['left', 'right', 'left', 'left'], width);
}

/** `pierce_ms  500 → 400 ms`, one line each. */
export function changeLines(changes: readonly Change[], width: number): string[] {
  const rows = changes.map(({ row, before, after }) => [row.name, f32Text(before), '→', withUnit(row, after)]);
  return fittedTable(rows, ['left', 'right', 'left', 'left'], width);
}

/** A table without a head; where that is too wide, one entry per line with single spaces. */
function fittedTable(rows: readonly (readonly string[])[], sides: readonly Alignment[], width: number): string[] {
  if (rows.length === 0) return [];
  const table = tableLines(rows[0], rows.slice(1), sides, width);
  return table ?? rows.map((row) => row.filter((cell) => cell !== '').join(' '));
}

/** What a box says about itself, as names and values. */
export function identityEntries(identity: Identity, desk_sha256: string): (readonly [string, string])[] {
  const { in_loader, slot, generation, version, module_sha256, tick, parameter_generation } = identity;
  const place = slot === NO_SLOT ? 'nothing: no slot holds a valid image' : `slot ${slot}, generation ${generation}`;
  const entries: (readonly [string, string])[] = [
    ['answers', `the ${in_loader ? 'loader' : 'box'}, version ${version}`],
    [in_loader ? 'would run' : 'runs', place],
    ['module', moduleWords(module_sha256, desk_sha256)],
    ['started', `${clockText(tick / 1000)} ago: ${startWords(identity)}`],
  ];
  if (identity.fault_before !== 0) {
    const row = FAULT_ROWS[identity.fault_before];
    entries.push(['fault before', row ? `${row.name}: ${row.meaning}` : `${identity.fault_before}`]);
  }
  if (in_loader) return entries;
  const kept = parameter_generation === 0 ? 'the defaults, none kept' : `kept, generation ${parameter_generation}`;
  const worst_percent = (100 * identity.worst_tick_cycles) / identity.cycles_per_ms;
  const worst = `${fixed(worst_percent, 1)} % of a millisecond`;
  return [...entries, ['parameters', kept], ['longest tick', worst]];
}

/** Names and values, one pair per line. */
export function entryLines(entries: readonly (readonly [string, string])[]): string[] {
  const width = Math.max(...entries.map(([name]) => name.length));
  return entries.map(([name, value]) => `${name.padEnd(width)}  ${value}`);
}

const TIME_COLUMNS = 12;

/** Events in their order, with a heading for each start of the box. @param width of a line, to which the text is wrapped */
export function eventLines(events: readonly BoxEvent[], width: number): string[] {
  const lines: string[] = [];
  let start = -1;
  for (const event of events) {
    if (event.start !== start) {
      start = event.start;
      lines.push(`start ${start} of the box`);
    }
    const time = `${(event.tick / 1000).toFixed(3)} s`.padStart(TIME_COLUMNS);
    const [first = '', ...rest] = wrapText(eventText(event), Math.max(20, width - TIME_COLUMNS - 2));
    lines.push(`${time}  ${first}`, ...rest.map((line) => ' '.repeat(TIME_COLUMNS + 2) + line));
  }
  return lines;
}

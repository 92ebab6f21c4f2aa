// Every generated file and its text; apart from main.ts, which writes them as soon as it is loaded: a test compares them.
import { readFileSync } from 'node:fs';
import { GENERATED_FROM_PORT } from '../../firmware/ports/rp2040/generator.js';
import { GENERATED_FROM_WIRE, type Generated, HEADER } from '../../firmware/wire/generator.js';
import { BLOCK_TICKS, COLUMN_ROWS, type ColumnRow } from '../run/trace/index.js';
import { cellsSource } from '../world/cells/index.js';
import { MACHINE_ROWS, type Row, WORLD_ROWS } from '../world/plant/index.js';
import { parametersPage, recordedPage, setupPage, wordsPage } from './pages.js';

function docText(row: Row): string {
  const unit = row.unit === '' ? '' : ` ${row.unit}`;
  const range =
    row.kind === 'boolean'
      ? `default ${row.default}`
      : row.kind === 'choice'
        ? `${row.choices!.join(' or ')}, default ${row.default}`
        : `${row.min}…${row.max}${unit}, default ${row.default}`;
  const kind = row.integer ? '; whole' : '';
  return `${row.meaning}; ${range}${kind}${row.assumption ? '; assumption' : ''}`;
}

/** The groups of a section, each an object of its quantities. */
function groups(rows: readonly Row[]): string[] {
  const parts = new Map<string, string[]>();
  for (const row of rows) {
    const [part, field] = row.path.split('.') as [string, string];
    const type = row.kind === 'boolean' ? 'boolean' : row.kind === 'choice' ? row.choices!.join(' | ') : 'number';
    const lines = parts.get(part) ?? [];
    lines.push(`    /** ${docText(row)} */`, `    readonly ${field}: ${type};`);
    parts.set(part, lines);
  }
  return [...parts].flatMap(([part, lines]) => [`  readonly ${part}: {`, ...lines, '  };']);
}

/** `plant/config.gen.ts`: machine and world as types, with the docstrings of their rows. */
const configSource = (): string =>
  [
    HEADER,
    "import type { Fault } from './faults.js';",
    '',
    '/** What can be measured on the machine with a rule and a meter, or read from its plates. */',
    'export interface MachineConfig {',
    ...groups(MACHINE_ROWS),
    '}',
    '',
    '/** What is only assumed for simulation. */',
    'export interface WorldConfig {',
    ...groups(WORLD_ROWS),
    '  /** What breaks, and when; empty for a sound machine. */',
    '  readonly faults: readonly Fault[];',
    '}',
    '',
  ].join('\n');

/** Classes of the state that a host knows field by field, each field four bytes, and the prefix of their constants. */
const CLASSES = [
  ['Sequence', 'SEQUENCE', 'i32'],
  ['Regulator', 'REGULATOR', 'f32'],
  ['Filter', 'FILTER', 'i32 or f32'],
] as const;
const REGIONS = ['SEQUENCE', 'REGULATOR', 'FILTER', 'RING'];

/** Names of the fields of a class. @throws Error for a field of another type */
function fieldsOf(source: string, name: string, type: string): string[] {
  const body = new RegExp(`export class ${name} {\\n([\\s\\S]*?)\\n}`).exec(source)?.[1];
  if (body === undefined) throw new Error(`the state has no class ${name}`);
  return [...body.matchAll(/^ {2}(\w+): (\w+);/gm)].map(([, field, found]) => {
    if (!type.split(' or ').includes(found)) throw new Error(`${name}.${field} is ${found}; all of ${name} is ${type}`);
    return field;
  });
}

/** Where each region begins: `const FILTER_AT = REGULATOR_AT + 256;` adds to the one before. */
function placesOf(source: string): ReadonlyMap<string, number> {
  const places = new Map<string, number>();
  for (const [, name, before, bytes] of source.matchAll(/^const (\w+)_AT = (?:(\w+)_AT \+ )?(\d+);/gm)) {
    places.set(name, (before === undefined ? 0 : places.get(before)!) + Number(bytes));
  }
  return places;
}

/** `wire/state-fields.gen.ts` from the source of `control/state.ts`: the state region by name. */
function stateFieldsSource(source: string): string {
  const places = placesOf(source);
  const start = places.get(REGIONS[0])!;
  return [
    HEADER,
    '// The state region of the control module by name, for a host that snapshots, restores and enumerates it: fields of four',
    '// bytes, as firmware/control/state.ts declares them.',
    '',
    ...REGIONS.map((name) => `export const ${name}_AT = ${places.get(name)! - start};`),
    ...CLASSES.flatMap(([name, prefix, type]) => [
      '',
      `/** ${type} each. */`,
      `export const ${prefix}_FIELDS = [`,
      ...fieldsOf(source, name, type).map((field) => `  '${field}',`),
      '] as const;',
    ]),
    '',
  ].join('\n');
}

const ARRAYS = {
  u8: 'Uint8Array',
  u16: 'Uint16Array',
  i16: 'Int16Array',
  i32: 'Int32Array',
  f32: 'Float32Array',
} as const;

/** The types of the columns, widest first, so that each begins at a multiple of its size. */
const ORDER = ['f32', 'i32', 'u16', 'i16', 'u8'] as const satisfies readonly (keyof typeof ARRAYS)[];
const SIZES = { u8: 1, u16: 2, i16: 2, i32: 4, f32: 4 } as const;
const IN_ORDER = ORDER.flatMap((type) => COLUMN_ROWS.filter((row) => row.type === type));

/** Where a column begins in the block, bytes. */
const startOf = (row: ColumnRow): number =>
  IN_ORDER.slice(0, IN_ORDER.indexOf(row)).reduce((bytes, { type }) => bytes + SIZES[type] * BLOCK_TICKS, 0);
const BLOCK_BYTES = COLUMN_ROWS.reduce((bytes, { type }) => bytes + SIZES[type] * BLOCK_TICKS, 0);
const doc = ({ unit, meaning }: ColumnRow) => (unit === '1' ? meaning : `${meaning}; ${unit}`);

/**
 * `trace/block.gen.ts`. Written out, where a loop over the rows would do: an object that is filled by computed names is
 * slow to read from.
 */
const blockSource = (): string =>
  [
    HEADER,
    'export interface Columns {',
    ...COLUMN_ROWS.map((row) => `  /** ${doc(row)} */\n  readonly ${row.name}: ${ARRAYS[row.type]};`),
    '}',
    'export type ColumnName = keyof Columns;',
    '',
    '/**',
    ' * One second of a run, column by column. A run is a sequence of blocks; the loop refills one and the same block, so that',
    ' * memory does not grow with the length of the cut. A sink that wants to keep it must copy. The rows of a block are ticks',
    ' * without a gap; what was recorded from a box ends a block wherever a row is missing.',
    ' */',
    'export interface TraceBlock extends Columns {',
    '  /** Tick of row 0, counted from power-up. */',
    '  first_tick: number;',
    '  /** Rows in use; below BLOCK_TICKS only at the end of a run. */',
    '  count: number;',
    '}',
    '',
    `export const BLOCK_BYTES = ${BLOCK_BYTES};`,
    '',
    '/** A block in a memory, such as that of the world module. @param at its place there, a multiple of 4 */',
    'export function newBlock(buffer: ArrayBuffer = new ArrayBuffer(BLOCK_BYTES), at = 0): TraceBlock {',
    '  return {',
    '    first_tick: 0,',
    '    count: 0,',
    ...COLUMN_ROWS.map(
      (row) => `    ${row.name}: new ${ARRAYS[row.type]}(buffer, at + ${startOf(row)}, ${BLOCK_TICKS}),`,
    ),
    '  };',
    '}',
    '',
  ].join('\n');

/** `loop/module/record.gen.ts`: a statement a column. */
function recorderSource(): string {
  const stored = (row: ColumnRow): string => {
    const wide = row.type === 'f32' ? 'f32' : 'i32';
    const value =
      row.from.startsWith('load<f32>') || row.from.startsWith('load<i32>') ? row.from : `<${wide}>${row.from}`;
    const store = { u8: 'store8', u16: 'store16', i16: 'store16', i32: 'store32', f32: 'storeReal' }[row.type];
    const size = SIZES[row.type];
    return `  ${store}(BLOCK_AT + ${startOf(row)} + ${size === 1 ? 'row' : `row * ${size}`}, ${value}); // ${row.name}`;
  };
  const parts = new Set(
    COLUMN_ROWS.flatMap(({ from }) => [...from.matchAll(/\b([a-z]+)\.\w/g)].map(([, part]) => part)),
  );
  const parts_used = [...parts].sort().join(', ');
  return [
    HEADER,
    `import { CELLS_END, ${parts_used} } from '../../../world/module/cells.gen';`,
    '',
    '/** Where the recorded block stands, and the first byte behind it. */',
    'export const BLOCK_AT: usize = CELLS_END;',
    `export const FIXED_END: usize = CELLS_END + ${Math.ceil(BLOCK_BYTES / 8) * 8};`,
    '',
    ...[
      ['store8', 'i32', 'u8'],
      ['store16', 'i32', 'u16'],
      ['store32', 'i32', 'i32'],
      ['storeReal', 'f32', 'f32'],
    ].flatMap(([name, from, to]) => [
      '@inline',
      `function ${name}(at: usize, value: ${from}): void {`,
      `  store<${to}>(at, ${from === to ? 'value' : `<${to}>value`});`,
      '}',
    ]),
    '',
    '/** What the tick that is over put in and got out, with table and world as they were in it. */',
    'export function record(row: usize, input: usize, output: usize): void {',
    ...COLUMN_ROWS.map(stored),
    '}',
    '',
  ].join('\n');
}

/** Where the state is declared, from the project's root, which is where generating runs. */
const STATE_SOURCE = 'firmware/control/state.ts';

/** Every generated file. */
export const GENERATED: readonly Generated[] = [
  ...GENERATED_FROM_WIRE,
  ...GENERATED_FROM_PORT,
  {
    path: 'firmware/wire/state-fields.gen.ts',
    source: () => stateFieldsSource(readFileSync(STATE_SOURCE, 'utf8')),
  },
  { path: 'sim/run/trace/block.gen.ts', source: blockSource },
  { path: 'sim/run/loop/module/record.gen.ts', source: recorderSource },
  { path: 'sim/world/module/cells.gen.ts', source: () => `${HEADER}\n${cellsSource()}` },
  { path: 'sim/world/plant/config.gen.ts', source: configSource },
  { path: 'hardware-notes/parameters.gen.md', source: parametersPage },
  { path: 'hardware-notes/setup.gen.md', source: setupPage },
  { path: 'hardware-notes/recorded.gen.md', source: recordedPage },
  { path: 'hardware-notes/program-words.gen.md', source: wordsPage },
];

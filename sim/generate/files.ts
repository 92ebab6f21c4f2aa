// Every generated file and its text; apart from main.ts, which writes them as soon as it is loaded: a test compares them.
import { readFileSync } from 'node:fs';
import { GENERATED_FROM_PORT } from '../../firmware/ports/rp2040/generator.js';
import { GENERATED_FROM_WIRE, type Generated, HEADER } from '../../firmware/wire/generator.js';
import { BLOCK_TICKS, COLUMN_ROWS, type ColumnRow } from '../run/trace/index.js';
import { MACHINE_ROWS, type Row, WORLD_ROWS } from '../world/plant/index.js';
import { parametersPage, recordedPage, setupPage } from './pages.js';

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
] as const;
const REGIONS = ['SEQUENCE', 'REGULATOR', 'FILTER', 'RING'];

/** Names of the fields of a class. @throws Error for a field of another type */
function fieldsOf(source: string, name: string, type: string): string[] {
  const body = new RegExp(`export class ${name} {\\n([\\s\\S]*?)\\n}`).exec(source)?.[1];
  if (body === undefined) throw new Error(`the state has no class ${name}`);
  return [...body.matchAll(/^ {2}(\w+): (\w+);/gm)].map(([, field, found]) => {
    if (found !== type) throw new Error(`${name}.${field} is ${found}; all of ${name} is ${type}`);
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
const TYPES = Object.keys(ARRAYS) as (keyof typeof ARRAYS)[];

const ofType = (type: ColumnRow['type']) => COLUMN_ROWS.filter((row) => row.type === type);
/** Where a column begins in the array of its type. */
const startOf = (row: ColumnRow): number => ofType(row.type).indexOf(row) * BLOCK_TICKS;
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
    '/**',
    ' * A block to be filled row by row: the columns of one type lie one after the other in one array. Forty arrays would be',
    ' * forty places to look up and to check a row against, once a tick.',
    ' */',
    'export interface BlockToFill extends TraceBlock {',
    ...TYPES.map((type) => `  readonly ${type}: ${ARRAYS[type]};`),
    '}',
    '',
    'export function newBlock(): BlockToFill {',
    ...TYPES.map((type) => `  const ${type} = new ${ARRAYS[type]}(${ofType(type).length * BLOCK_TICKS});`),
    '  return {',
    '    first_tick: 0,',
    '    count: 0,',
    ...TYPES.map((type) => `    ${type},`),
    ...COLUMN_ROWS.map((row) => {
      const start = startOf(row);
      return `    ${row.name}: ${row.type}.subarray(${start}, ${start + BLOCK_TICKS}),`;
    }),
    '  };',
    '}',
    '',
  ].join('\n');

/** `loop/record.gen.ts`: a statement a column, its places as literals, which the engine folds. */
const recorderSource = (): string =>
  [
    HEADER,
    "import type { Controller } from '../controller/index.js';",
    "import type { MotionPlayer } from '../../world/motion/index.js';",
    "import type { World } from '../../world/plant/index.js';",
    "import type { BlockToFill } from '../trace/index.js';",
    '',
    '/** Writes the rows of a run into its block. */',
    'export class Recorder {',
    '  constructor(',
    '    private readonly block: BlockToFill,',
    '    private readonly controller: Controller,',
    '    private readonly world: World,',
    '    private readonly table: MotionPlayer,',
    '  ) {}',
    '',
    '  /** What the tick that is over put in and got out, with table and world as they were in it. */',
    '  row(row: number, digital_outputs: number, z_steps: number): void {',
    '    const { controller, world, table } = this;',
    `    const { ${TYPES.join(', ')} } = this.block;`,
    '    const { integers, reals } = controller.output;',
    ...COLUMN_ROWS.map((row) => {
      const start = startOf(row);
      return `    ${row.type}[${start === 0 ? '' : `${start} + `}row] = ${row.from}; // ${row.name}`;
    }),
    '  }',
    '}',
    '',
  ].join('\n');

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
  { path: 'sim/run/loop/record.gen.ts', source: recorderSource },
  { path: 'sim/world/plant/config.gen.ts', source: configSource },
  { path: 'hardware-notes/parameters.gen.md', source: parametersPage },
  { path: 'hardware-notes/setup.gen.md', source: setupPage },
  { path: 'hardware-notes/recorded.gen.md', source: recordedPage },
];

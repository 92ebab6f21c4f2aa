import { HEADER } from '../../firmware/wire/generator.js';
import { BLOCK_TICKS, COLUMN_ROWS, type ColumnRow } from '../run/trace/index.js';

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
export const blockSource = (): string =>
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
export const recorderSource = (): string =>
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

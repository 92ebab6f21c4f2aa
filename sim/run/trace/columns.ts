import { type CellType, placedInputs, placedOutputs } from '../../../firmware/wire/tick-rows.js';
import type { ColumnName, TraceBlock } from './block.gen.js';

/**
 * One column of a recorded run, which has one row a tick (1 ms). The block in memory and the recorder are generated from
 * these rows; the CSV head (`name_unit`), the reader and the notes go by them.
 */
export interface ColumnRow {
  readonly name: ColumnName;
  readonly type: CellType;
  readonly unit: string;
  /**
   * Who knows it: the `box` (inputs and outputs of the control module, and the contact that it reads back), the `world`
   * (truth that the controller never sees) or the `table` (motion).
   */
  readonly by: 'box' | 'world' | 'table';
  readonly meaning: string;
  /** Whether a box sends it. */
  readonly telemetry: boolean;
  /** What the recorder of the world module takes: a cell of it, or a place in the controller's blocks. */
  readonly from: string;
}

const column = (
  by: ColumnRow['by'],
  name: string,
  type: CellType,
  unit: string,
  meaning: string,
  from = `${by === 'table' ? 'table' : 'head'}.${name}`,
): ColumnRow => ({ name: name as ColumnName, type, unit, by, meaning, telemetry: by === 'box', from });

const INPUTS = placedInputs()
  .rows.filter(({ trace }) => trace)
  .map((row) => ({
    ...column('box', row.name, row.type, row.unit, row.meaning),
    telemetry: row.telemetry,
    from:
      row.half_words === undefined
        ? `load<i32>(input, ${row.offset})`
        : `load<u16>(input, ${row.offset + 2 * (row.half_words - 1)})`,
  }));
const OUTPUTS = placedOutputs()
  .rows.filter(({ trace }) => trace)
  .map((row) => ({
    ...column('box', row.name, row.type, row.unit, row.meaning),
    telemetry: row.telemetry,
    from: `load<${row.type === 'f32' ? 'f32' : 'i32'}>(output, ${row.offset})`,
  }));

/** Every column, in the order of the file. */
export const COLUMN_ROWS: readonly ColumnRow[] = [
  ...INPUTS,
  ...OUTPUTS,
  // Where the table is
  column('table', 'x_mm', 'f32', 'mm', 'position'),
  column('table', 'y_mm', 'f32', 'mm', 'position'),
  column('table', 'feed_mm_s', 'f32', 'mm/s', 'true feed along the path'),
  column('table', 'path_mm', 'f32', 'mm', 'path travelled with the torch requested'),
  column(
    'table',
    'corner_mm',
    'f32',
    'mm',
    'path to or from the nearest corner, large when there is none',
    'min<f64>(table.corner_mm, 1e6)',
  ),
  column('table', 'contour', 'i16', 'index', 'contour, from 0; -1 before the first'),
  column('table', 'line', 'i32', 'line', 'line of the program'),
  column('table', 'table_state', 'u8', 'code', 'state of the motion player', 'table.state'),
  // The truth
  column('world', 'standoff_mm', 'f32', 'mm', 'torch tip above the sheet under it'),
  column('world', 'plate_mm', 'f32', 'mm', 'height of the sheet under the torch'),
  column('world', 'torch_mm', 'f32', 'mm', 'height of the torch tip'),
  column('world', 'true_V', 'f32', 'V', 'voltage at the tap', 'arc.true_V'),
  column('world', 'burning', 'u8', '0/1', 'an arc burns', 'arc.burning'),
  column('box', 'relay', 'u8', '0/1', 'the firing contact is closed', 'firing.relay'),
  column('world', 'crossing', 'u8', '0/1', 'the arc meets metal that is gone', 'arc.crossing'),
  column('world', 'off_sheet', 'u8', '0/1', 'the torch is beyond the edge of the sheet', 'plate.off_sheet'),
  column(
    'world',
    'contacts',
    'i32',
    'count',
    'times the torch has met the sheet outside the touch-off',
    'wires.contacts',
  ),
  column('world', 'lost_steps', 'i32', 'steps', 'Z steps that the motor did not follow', 'axis.lost_steps'),
];

/** Ticks a block: one second. */
export const BLOCK_TICKS = 1000;

/** Whatever watches a run: requirements, figures, a file, a screen. */
export interface TraceSink {
  /** Called once for each second; the block is reused afterwards. */
  block(block: TraceBlock): void;
}

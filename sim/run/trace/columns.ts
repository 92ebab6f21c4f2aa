/**
 * The columns of a recorded run: one row a tick (1 ms). This table is the single source for the block in
 * memory, the CSV head (`name_unit`), the reader and the reference page.
 *
 * `by` says who knows it: the `box` (inputs and outputs of the control module, and the contact that it reads back), the
 * `world` (truth that the controller never sees) or the `table` (motion).
 */
export const COLUMN_ROWS = [
  // What went into the module
  ['digital_inputs', 'u16', 'bits', 'box', 'digital inputs, INPUT_* of firmware/wire/layout'],
  ['reading', 'u16', 'counts', 'box', 'last of the ten converter readings of the tick'],
  ['x_steps', 'i16', 'steps', 'box', 'X steps since the last tick'],
  ['y_steps', 'i16', 'steps', 'box', 'Y steps since the last tick'],
  // What came out of it
  ['z_steps', 'i16', 'steps', 'box', 'Z steps for the next tick, up is positive'],
  ['digital_outputs', 'u8', 'bits', 'box', 'digital outputs, OUTPUT_*'],
  ['mode', 'u8', 'code', 'box', 'MODE_*'],
  ['stage', 'u8', 'code', 'box', 'STAGE_*'],
  ['hold', 'u8', 'code', 'box', 'HOLD_*'],
  ['fault', 'u8', 'code', 'box', 'FAULT_*'],
  ['refusal', 'u8', 'code', 'box', 'REFUSAL_*'],
  ['flags', 'u8', 'bits', 'box', 'FLAG_*'],
  ['z', 'i32', 'steps', 'box', 'Z since the box took it over'],
  ['measured_V', 'f32', 'V', 'box', 'arc voltage as the box sees it, mean over half a mains period'],
  ['target_V', 'f32', 'V', 'box', 'target with trim and feed effect'],
  ['measured_error_mm', 'f32', 'mm', 'box', 'standoff error as the regulator sees it'],
  ['z_velocity_mm_s', 'f32', 'mm/s', 'box', 'commanded Z velocity'],
  ['measured_feed_mm_s', 'f32', 'mm/s', 'box', 'feed as the box sees it'],
  ['slope_x', 'f32', '1', 'box', 'estimated slope of the sheet along X'],
  ['slope_y', 'f32', '1', 'box', 'estimated slope of the sheet along Y'],
  ['feed_effect_V', 'f32', 'V', 'box', 'feed effect as learned'],
  // Where the table is
  ['x_mm', 'f32', 'mm', 'table', 'position'],
  ['y_mm', 'f32', 'mm', 'table', 'position'],
  ['feed_mm_s', 'f32', 'mm/s', 'table', 'true feed along the path'],
  ['path_mm', 'f32', 'mm', 'table', 'path travelled with the torch requested'],
  ['corner_mm', 'f32', 'mm', 'table', 'path to or from the nearest corner, large when there is none'],
  ['contour', 'i16', 'index', 'table', 'contour, from 0; -1 before the first'],
  ['line', 'i32', 'line', 'table', 'line of the program'],
  ['table_state', 'u8', 'code', 'table', 'state of the motion player'],
  // The truth
  ['standoff_mm', 'f32', 'mm', 'world', 'torch tip above the sheet under it'],
  ['plate_mm', 'f32', 'mm', 'world', 'height of the sheet under the torch'],
  ['torch_mm', 'f32', 'mm', 'world', 'height of the torch tip'],
  ['true_V', 'f32', 'V', 'world', 'voltage at the tap'],
  ['burning', 'u8', '0/1', 'world', 'an arc burns'],
  ['relay', 'u8', '0/1', 'box', 'the firing contact is closed'],
  ['crossing', 'u8', '0/1', 'world', 'the arc meets metal that is gone'],
  ['off_sheet', 'u8', '0/1', 'world', 'the torch is beyond the edge of the sheet'],
  ['contacts', 'i32', 'count', 'world', 'times the torch has met the sheet outside the touch-off'],
  ['lost_steps', 'i32', 'steps', 'world', 'Z steps that the motor did not follow'],
] as const satisfies readonly (readonly [string, ColumnType, string, 'box' | 'world' | 'table', string])[];

export type ColumnType = 'u8' | 'u16' | 'i16' | 'i32' | 'f32';
type Row = (typeof COLUMN_ROWS)[number];
export type ColumnName = Row[0];

interface ArrayOf {
  u8: Uint8Array;
  u16: Uint16Array;
  i16: Int16Array;
  i32: Int32Array;
  f32: Float32Array;
}

/** Ticks a block: one second. */
export const BLOCK_TICKS = 1000;

export type Columns = { readonly [R in Row as R[0]]: ArrayOf[R[1]] };

/**
 * One second of a run, column by column. A run is a sequence of blocks; the loop refills one and the same
 * block, so that memory does not grow with the length of the cut. A sink that wants to keep it must copy. The rows of a
 * block are ticks without a gap; what was recorded from a box ends a block wherever a row is missing.
 */
export interface TraceBlock extends Columns {
  /** Tick of row 0, counted from power-up. */
  first_tick: number;
  /** Rows in use; below BLOCK_TICKS only at the end of a run. */
  count: number;
}

/**
 * A block to be filled row by row: the columns of one type lie one after the other in one array. Forty arrays would be
 * forty places to look up and to check a row against, once a tick.
 */
export interface BlockToFill extends TraceBlock {
  readonly u8: Uint8Array;
  readonly u16: Uint16Array;
  readonly i16: Int16Array;
  readonly i32: Int32Array;
  readonly f32: Float32Array;
}

/** Where a column begins in the array of its type. */
export function columnStart(name: ColumnName): number {
  const [, type] = COLUMN_ROWS.find((row) => row[0] === name)!;
  return COLUMN_ROWS.filter((row) => row[1] === type).findIndex((row) => row[0] === name) * BLOCK_TICKS;
}

const lengthOf = (type: ColumnType) => COLUMN_ROWS.filter((row) => row[1] === type).length * BLOCK_TICKS;

function column<A extends ArrayOf[ColumnType]>(array: A, name: ColumnName): A {
  const start = columnStart(name);
  return array.subarray(start, start + BLOCK_TICKS) as A;
}

/**
 * A new block. Written out, where a loop over the rows would do: an object that is filled by computed names is slow to
 * read from. The compiler compares it with the rows.
 */
export function newBlock(): BlockToFill {
  const u8 = new Uint8Array(lengthOf('u8'));
  const u16 = new Uint16Array(lengthOf('u16'));
  const i16 = new Int16Array(lengthOf('i16'));
  const i32 = new Int32Array(lengthOf('i32'));
  const f32 = new Float32Array(lengthOf('f32'));
  return {
    first_tick: 0,
    count: 0,
    u8,
    u16,
    i16,
    i32,
    f32,
    digital_inputs: column(u16, 'digital_inputs'),
    reading: column(u16, 'reading'),
    x_steps: column(i16, 'x_steps'),
    y_steps: column(i16, 'y_steps'),
    z_steps: column(i16, 'z_steps'),
    digital_outputs: column(u8, 'digital_outputs'),
    mode: column(u8, 'mode'),
    stage: column(u8, 'stage'),
    hold: column(u8, 'hold'),
    fault: column(u8, 'fault'),
    refusal: column(u8, 'refusal'),
    flags: column(u8, 'flags'),
    z: column(i32, 'z'),
    measured_V: column(f32, 'measured_V'),
    target_V: column(f32, 'target_V'),
    measured_error_mm: column(f32, 'measured_error_mm'),
    z_velocity_mm_s: column(f32, 'z_velocity_mm_s'),
    measured_feed_mm_s: column(f32, 'measured_feed_mm_s'),
    slope_x: column(f32, 'slope_x'),
    slope_y: column(f32, 'slope_y'),
    feed_effect_V: column(f32, 'feed_effect_V'),
    x_mm: column(f32, 'x_mm'),
    y_mm: column(f32, 'y_mm'),
    feed_mm_s: column(f32, 'feed_mm_s'),
    path_mm: column(f32, 'path_mm'),
    corner_mm: column(f32, 'corner_mm'),
    contour: column(i16, 'contour'),
    line: column(i32, 'line'),
    table_state: column(u8, 'table_state'),
    standoff_mm: column(f32, 'standoff_mm'),
    plate_mm: column(f32, 'plate_mm'),
    torch_mm: column(f32, 'torch_mm'),
    true_V: column(f32, 'true_V'),
    burning: column(u8, 'burning'),
    relay: column(u8, 'relay'),
    crossing: column(u8, 'crossing'),
    off_sheet: column(u8, 'off_sheet'),
    contacts: column(i32, 'contacts'),
    lost_steps: column(i32, 'lost_steps'),
  };
}

/** Whatever watches a run: requirements, figures, a file, a screen. */
export interface TraceSink {
  /** Called once for each second; the block is reused afterwards. */
  block(block: TraceBlock): void;
}

/**
 * The columns of a recorded run: one row a tick (1 ms). This table is the single source for the block in
 * memory, the CSV head (`name_unit`), the reader and the reference page.
 *
 * `by` says who knows it: the `box` (inputs and outputs of the control module, and the contact that it reads back), the
 * `world` (truth that the controller never sees) or the `table` (motion).
 */
export const COLUMN_ROWS = [
  // What went into the module
  ['lines', 'u16', 'bits', 'box', 'digital inputs, LINE_* of firmware/wire/layout'],
  ['reading', 'u16', 'counts', 'box', 'last of the ten converter readings of the tick'],
  ['x_steps', 'i16', 'steps', 'box', 'X steps since the last tick'],
  ['y_steps', 'i16', 'steps', 'box', 'Y steps since the last tick'],
  // What came out of it
  ['z_steps', 'i16', 'steps', 'box', 'Z steps for the next tick, up is positive'],
  ['drives', 'u8', 'bits', 'box', 'digital outputs, DRIVE_*'],
  ['mode', 'u8', 'code', 'box', 'MODE_*'],
  ['stage', 'u8', 'code', 'box', 'STAGE_*'],
  ['hold', 'u8', 'code', 'box', 'HOLD_*'],
  ['fault', 'u8', 'code', 'box', 'FAULT_*'],
  ['refusal', 'u8', 'code', 'box', 'REFUSAL_*'],
  ['flags', 'u8', 'bits', 'box', 'FLAG_*'],
  ['z', 'i32', 'steps', 'box', 'Z since the box took it over'],
  ['seen_V', 'f32', 'V', 'box', 'arc voltage as the box sees it, mean over half a mains period'],
  ['target_V', 'f32', 'V', 'box', 'target with trim and feed effect'],
  ['seen_error_mm', 'f32', 'mm', 'box', 'standoff error as the regulator sees it'],
  ['z_velocity_mm_s', 'f32', 'mm/s', 'box', 'commanded Z velocity'],
  ['seen_feed_mm_s', 'f32', 'mm/s', 'box', 'feed as the box sees it'],
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
  ['arc_V', 'f32', 'V', 'world', 'voltage at the tap'],
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
 * A new block. Written out, where a loop over the rows would do: an object that is filled by computed names is slow to
 * read from, and this one is written forty times a tick. The compiler compares it with the rows.
 */
export function newBlock(): TraceBlock {
  return {
    first_tick: 0,
    count: 0,
    lines: new Uint16Array(BLOCK_TICKS),
    reading: new Uint16Array(BLOCK_TICKS),
    x_steps: new Int16Array(BLOCK_TICKS),
    y_steps: new Int16Array(BLOCK_TICKS),
    z_steps: new Int16Array(BLOCK_TICKS),
    drives: new Uint8Array(BLOCK_TICKS),
    mode: new Uint8Array(BLOCK_TICKS),
    stage: new Uint8Array(BLOCK_TICKS),
    hold: new Uint8Array(BLOCK_TICKS),
    fault: new Uint8Array(BLOCK_TICKS),
    refusal: new Uint8Array(BLOCK_TICKS),
    flags: new Uint8Array(BLOCK_TICKS),
    z: new Int32Array(BLOCK_TICKS),
    seen_V: new Float32Array(BLOCK_TICKS),
    target_V: new Float32Array(BLOCK_TICKS),
    seen_error_mm: new Float32Array(BLOCK_TICKS),
    z_velocity_mm_s: new Float32Array(BLOCK_TICKS),
    seen_feed_mm_s: new Float32Array(BLOCK_TICKS),
    slope_x: new Float32Array(BLOCK_TICKS),
    slope_y: new Float32Array(BLOCK_TICKS),
    feed_effect_V: new Float32Array(BLOCK_TICKS),
    x_mm: new Float32Array(BLOCK_TICKS),
    y_mm: new Float32Array(BLOCK_TICKS),
    feed_mm_s: new Float32Array(BLOCK_TICKS),
    path_mm: new Float32Array(BLOCK_TICKS),
    corner_mm: new Float32Array(BLOCK_TICKS),
    contour: new Int16Array(BLOCK_TICKS),
    line: new Int32Array(BLOCK_TICKS),
    table_state: new Uint8Array(BLOCK_TICKS),
    standoff_mm: new Float32Array(BLOCK_TICKS),
    plate_mm: new Float32Array(BLOCK_TICKS),
    torch_mm: new Float32Array(BLOCK_TICKS),
    arc_V: new Float32Array(BLOCK_TICKS),
    burning: new Uint8Array(BLOCK_TICKS),
    relay: new Uint8Array(BLOCK_TICKS),
    crossing: new Uint8Array(BLOCK_TICKS),
    off_sheet: new Uint8Array(BLOCK_TICKS),
    contacts: new Int32Array(BLOCK_TICKS),
    lost_steps: new Int32Array(BLOCK_TICKS),
  };
}

/** Whatever watches a run: laws, figures, a file, a screen. */
export interface TraceSink {
  /** Called once for each second; the block is reused afterwards. */
  block(block: TraceBlock): void;
}

// Generated from the rows by `npm run generate`. Do not edit.

export interface Columns {
  /** INPUT_*; bits */
  readonly digital_inputs: Uint16Array;
  /** the tick’s ten converter readings, oldest first; the last is recorded; counts */
  readonly reading: Uint16Array;
  /** X steps since the last tick; steps */
  readonly x_steps: Int16Array;
  /** Y steps since the last tick; steps */
  readonly y_steps: Int16Array;
  /** Z steps for the next tick, up is positive; steps */
  readonly z_steps: Int16Array;
  /** OUTPUT_*; bits */
  readonly digital_outputs: Uint8Array;
  /** MODE_*; code */
  readonly mode: Uint8Array;
  /** STAGE_*; code */
  readonly stage: Uint8Array;
  /** HOLD_*; code */
  readonly hold: Uint8Array;
  /** FAULT_*; code */
  readonly fault: Uint8Array;
  /** REFUSAL_*; code */
  readonly refusal: Uint8Array;
  /** FLAG_*; bits */
  readonly flags: Uint8Array;
  /** Z since the box took it over; steps */
  readonly z: Int32Array;
  /** arc voltage as the box sees it, mean over half a mains period; V */
  readonly measured_V: Float32Array;
  /** target with trim and feed effect; V */
  readonly target_V: Float32Array;
  /** standoff error as the regulator sees it, high is positive; mm */
  readonly measured_error_mm: Float32Array;
  /** commanded Z velocity; mm/s */
  readonly z_velocity_mm_s: Float32Array;
  /** feed as the box sees it, filtered; mm/s */
  readonly measured_feed_mm_s: Float32Array;
  /** estimated slope of the sheet along X */
  readonly slope_x: Float32Array;
  /** estimated slope of the sheet along Y */
  readonly slope_y: Float32Array;
  /** feed effect as learned; V */
  readonly feed_effect_V: Float32Array;
  /** position; mm */
  readonly x_mm: Float32Array;
  /** position; mm */
  readonly y_mm: Float32Array;
  /** true feed along the path; mm/s */
  readonly feed_mm_s: Float32Array;
  /** path travelled with the torch requested; mm */
  readonly path_mm: Float32Array;
  /** path to or from the nearest corner, large when there is none; mm */
  readonly corner_mm: Float32Array;
  /** contour, from 0; -1 before the first; index */
  readonly contour: Int16Array;
  /** line of the program; line */
  readonly line: Int32Array;
  /** state of the motion player; code */
  readonly table_state: Uint8Array;
  /** torch tip above the sheet under it; mm */
  readonly standoff_mm: Float32Array;
  /** height of the sheet under the torch; mm */
  readonly plate_mm: Float32Array;
  /** height of the torch tip; mm */
  readonly torch_mm: Float32Array;
  /** voltage at the tap; V */
  readonly true_V: Float32Array;
  /** an arc burns; 0/1 */
  readonly burning: Uint8Array;
  /** the firing contact is closed; 0/1 */
  readonly relay: Uint8Array;
  /** the arc meets metal that is gone; 0/1 */
  readonly crossing: Uint8Array;
  /** the torch is beyond the edge of the sheet; 0/1 */
  readonly off_sheet: Uint8Array;
  /** times the torch has met the sheet outside the touch-off; count */
  readonly contacts: Int32Array;
  /** Z steps that the motor did not follow; steps */
  readonly lost_steps: Int32Array;
}
export type ColumnName = keyof Columns;

/**
 * One second of a run, column by column. A run is a sequence of blocks; the loop refills one and the same block, so that
 * memory does not grow with the length of the cut. A sink that wants to keep it must copy. The rows of a block are ticks
 * without a gap; what was recorded from a box ends a block wherever a row is missing.
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

export function newBlock(): BlockToFill {
  const u8 = new Uint8Array(12000);
  const u16 = new Uint16Array(2000);
  const i16 = new Int16Array(4000);
  const i32 = new Int32Array(4000);
  const f32 = new Float32Array(17000);
  return {
    first_tick: 0,
    count: 0,
    u8,
    u16,
    i16,
    i32,
    f32,
    digital_inputs: u16.subarray(0, 1000),
    reading: u16.subarray(1000, 2000),
    x_steps: i16.subarray(0, 1000),
    y_steps: i16.subarray(1000, 2000),
    z_steps: i16.subarray(2000, 3000),
    digital_outputs: u8.subarray(0, 1000),
    mode: u8.subarray(1000, 2000),
    stage: u8.subarray(2000, 3000),
    hold: u8.subarray(3000, 4000),
    fault: u8.subarray(4000, 5000),
    refusal: u8.subarray(5000, 6000),
    flags: u8.subarray(6000, 7000),
    z: i32.subarray(0, 1000),
    measured_V: f32.subarray(0, 1000),
    target_V: f32.subarray(1000, 2000),
    measured_error_mm: f32.subarray(2000, 3000),
    z_velocity_mm_s: f32.subarray(3000, 4000),
    measured_feed_mm_s: f32.subarray(4000, 5000),
    slope_x: f32.subarray(5000, 6000),
    slope_y: f32.subarray(6000, 7000),
    feed_effect_V: f32.subarray(7000, 8000),
    x_mm: f32.subarray(8000, 9000),
    y_mm: f32.subarray(9000, 10000),
    feed_mm_s: f32.subarray(10000, 11000),
    path_mm: f32.subarray(11000, 12000),
    corner_mm: f32.subarray(12000, 13000),
    contour: i16.subarray(3000, 4000),
    line: i32.subarray(1000, 2000),
    table_state: u8.subarray(7000, 8000),
    standoff_mm: f32.subarray(13000, 14000),
    plate_mm: f32.subarray(14000, 15000),
    torch_mm: f32.subarray(15000, 16000),
    true_V: f32.subarray(16000, 17000),
    burning: u8.subarray(8000, 9000),
    relay: u8.subarray(9000, 10000),
    crossing: u8.subarray(10000, 11000),
    off_sheet: u8.subarray(11000, 12000),
    contacts: i32.subarray(2000, 3000),
    lost_steps: i32.subarray(3000, 4000),
  };
}

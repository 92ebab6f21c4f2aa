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
  /** arc voltage at cut height and target feed, as found; as told without; V */
  readonly found_target_V: Float32Array;
  /** standard deviation of the target in standoff; 0 while it is told; mm */
  readonly found_deviation_mm: Float32Array;
  /** what the voltage answered to the strokes of the last strike; 0: not yet known; V/mm */
  readonly proof_slope_V_per_mm: Float32Array;
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

export const BLOCK_BYTES = 120000;

/** A block in a memory, such as that of the world module. @param at its place there, a multiple of 4 */
export function newBlock(buffer: ArrayBuffer = new ArrayBuffer(BLOCK_BYTES), at = 0): TraceBlock {
  return {
    first_tick: 0,
    count: 0,
    digital_inputs: new Uint16Array(buffer, at + 96000, 1000),
    reading: new Uint16Array(buffer, at + 98000, 1000),
    x_steps: new Int16Array(buffer, at + 100000, 1000),
    y_steps: new Int16Array(buffer, at + 102000, 1000),
    z_steps: new Int16Array(buffer, at + 104000, 1000),
    digital_outputs: new Uint8Array(buffer, at + 108000, 1000),
    mode: new Uint8Array(buffer, at + 109000, 1000),
    stage: new Uint8Array(buffer, at + 110000, 1000),
    hold: new Uint8Array(buffer, at + 111000, 1000),
    fault: new Uint8Array(buffer, at + 112000, 1000),
    refusal: new Uint8Array(buffer, at + 113000, 1000),
    flags: new Uint8Array(buffer, at + 114000, 1000),
    z: new Int32Array(buffer, at + 80000, 1000),
    measured_V: new Float32Array(buffer, at + 0, 1000),
    target_V: new Float32Array(buffer, at + 4000, 1000),
    measured_error_mm: new Float32Array(buffer, at + 8000, 1000),
    z_velocity_mm_s: new Float32Array(buffer, at + 12000, 1000),
    measured_feed_mm_s: new Float32Array(buffer, at + 16000, 1000),
    slope_x: new Float32Array(buffer, at + 20000, 1000),
    slope_y: new Float32Array(buffer, at + 24000, 1000),
    feed_effect_V: new Float32Array(buffer, at + 28000, 1000),
    found_target_V: new Float32Array(buffer, at + 32000, 1000),
    found_deviation_mm: new Float32Array(buffer, at + 36000, 1000),
    proof_slope_V_per_mm: new Float32Array(buffer, at + 40000, 1000),
    x_mm: new Float32Array(buffer, at + 44000, 1000),
    y_mm: new Float32Array(buffer, at + 48000, 1000),
    feed_mm_s: new Float32Array(buffer, at + 52000, 1000),
    path_mm: new Float32Array(buffer, at + 56000, 1000),
    corner_mm: new Float32Array(buffer, at + 60000, 1000),
    contour: new Int16Array(buffer, at + 106000, 1000),
    line: new Int32Array(buffer, at + 84000, 1000),
    table_state: new Uint8Array(buffer, at + 115000, 1000),
    standoff_mm: new Float32Array(buffer, at + 64000, 1000),
    plate_mm: new Float32Array(buffer, at + 68000, 1000),
    torch_mm: new Float32Array(buffer, at + 72000, 1000),
    true_V: new Float32Array(buffer, at + 76000, 1000),
    burning: new Uint8Array(buffer, at + 116000, 1000),
    relay: new Uint8Array(buffer, at + 117000, 1000),
    crossing: new Uint8Array(buffer, at + 118000, 1000),
    off_sheet: new Uint8Array(buffer, at + 119000, 1000),
    contacts: new Int32Array(buffer, at + 88000, 1000),
    lost_steps: new Int32Array(buffer, at + 92000, 1000),
  };
}

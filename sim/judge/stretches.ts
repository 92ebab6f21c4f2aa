import { MODE_LIFT, MODE_REST, MODE_SEEK, STAGE_OPEN } from '../../firmware/wire/codes.gen.js';
import {
  FLAG_ARC_OK,
  FLAG_HOMED,
  OUTPUT_PERMIT,
  OUTPUT_Z_OWNED,
  TOUCH_OPEN_TICKS,
} from '../../firmware/wire/layout.gen.js';
import { BLOCK_TICKS, type TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';

/** The flags that mark a state; the others flicker from tick to tick. */
const STATE_FLAGS = FLAG_ARC_OK | FLAG_HOMED;

/** What marks a state: columns of the trace. */
const STATES = [
  ...(['digital_inputs', 'digital_outputs', 'mode', 'stage', 'hold', 'fault', 'flags', 'contour'] as const),
  ...(['burning', 'relay', 'crossing', 'off_sheet'] as const),
] as const;
const REFERENCES = ['z_taken', 'z_sheet', 'path_permit'] as const;

/** Rows before the block that `z_at` and `path_at` still hold. */
export const HISTORY_ROWS = 64;

/**
 * A block divided into stretches: successive rows in which every code, bit and contour stays the same. A cut changes
 * state some hundred times a minute, so a requirement about states looks at a few stretches instead of a thousand rows.
 *
 * Stretches count from 1. Number 0 is the row before the block, so that an edge is always a comparison of a stretch
 * with the one before it; before the first block it is a copy of the first row, because nothing is known to have
 * changed. A block border starts a new stretch without an edge.
 */
export class Stretches {
  /** Stretches in this block. */
  count = 0;
  /** First row of each stretch; entry count + 1 is the end of the block. */
  readonly from = new Uint16Array(BLOCK_TICKS + 2);
  readonly digital_inputs = new Uint16Array(BLOCK_TICKS + 1);
  readonly digital_outputs = new Uint8Array(BLOCK_TICKS + 1);
  readonly mode = new Uint8Array(BLOCK_TICKS + 1);
  readonly stage = new Uint8Array(BLOCK_TICKS + 1);
  readonly hold = new Uint8Array(BLOCK_TICKS + 1);
  readonly fault = new Uint8Array(BLOCK_TICKS + 1);
  /** Only FLAG_ARC_OK and FLAG_HOMED. */
  readonly flags = new Uint8Array(BLOCK_TICKS + 1);
  readonly burning = new Uint8Array(BLOCK_TICKS + 1);
  readonly relay = new Uint8Array(BLOCK_TICKS + 1);
  readonly crossing = new Uint8Array(BLOCK_TICKS + 1);
  readonly off_sheet = new Uint8Array(BLOCK_TICKS + 1);
  readonly contour = new Int16Array(BLOCK_TICKS + 1);
  /** Lowest and highest `z_at` over the stretch. */
  readonly z_low = new Float64Array(BLOCK_TICKS + 1);
  readonly z_high = new Float64Array(BLOCK_TICKS + 1);
  /** First row at the lowest, and at the highest. */
  readonly low_row = new Uint16Array(BLOCK_TICKS + 1);
  readonly high_row = new Uint16Array(BLOCK_TICKS + 1);
  /** `z_at` where the box took Z over. */
  readonly z_taken = new Float64Array(BLOCK_TICKS + 1);
  /** `z_at` of a torch tip on the sheet, by the touch-off of this arc; NaN while there is none. */
  readonly z_sheet = new Float64Array(BLOCK_TICKS + 1);
  /** `path_at` when the motion permit was first given since the touch-off; infinite before that. */
  readonly path_permit = new Float64Array(BLOCK_TICKS + 1);
  /**
   * Z after the steps of a row, in steps since power-up, added up from the step output alone: the box's own idea of Z
   * is not asked. Row r is at HISTORY_ROWS + r.
   */
  readonly z_at = new Float64Array(HISTORY_ROWS + BLOCK_TICKS);
  /** X/Y path up to a row, mm, from the step inputs. Row r is at HISTORY_ROWS + r. */
  readonly path_at = new Float64Array(HISTORY_ROWS + BLOCK_TICKS);

  private empty = true;
  private rows_before = 0;
  private x_mm_per_step = 1;
  private y_mm_per_step = 1;
  private offset_steps = 0;

  /** Call it before the first block of a run. The arrays are reused: a run of a campaign takes a few ms. */
  begin(context: RequirementContext): void {
    const { x_steps_per_mm, y_steps_per_mm, z_steps_per_mm, touch_offset_mm } = context.parameters;
    this.x_mm_per_step = 1 / x_steps_per_mm;
    this.y_mm_per_step = 1 / y_steps_per_mm;
    this.offset_steps = touch_offset_mm * z_steps_per_mm;
    this.count = 0;
    this.empty = true;
    this.rows_before = 0;
    this.z_at.fill(0, 0, HISTORY_ROWS);
    this.path_at.fill(0, 0, HISTORY_ROWS);
    this.z_taken[0] = 0;
    this.z_sheet[0] = Number.NaN;
    this.path_permit[0] = Number.POSITIVE_INFINITY;
  }

  /** Divides a block; the last stretch of the block before becomes number 0. */
  cut(block: TraceBlock): void {
    if (!this.empty && this.count > 0) this.keepLast();
    this.count = 0;
    if (block.count === 0) return;
    if (this.empty) this.storeStretch(block, 0, 0);
    this.empty = false;
    this.integrate(block);
    this.findEdges(block);
    this.from[this.count + 1] = block.count;
    for (let i = 1; i <= this.count; i++) {
      this.storeStretch(block, this.from[i], i);
      this.findExtremes(i);
      this.trackReferences(i);
    }
  }

  private integrate(block: TraceBlock): void {
    const { z_at, path_at, x_mm_per_step, y_mm_per_step } = this;
    const before = this.rows_before;
    z_at.copyWithin(0, before, before + HISTORY_ROWS);
    path_at.copyWithin(0, before, before + HISTORY_ROWS);
    const { x_steps, y_steps, z_steps, count } = block;
    let z = z_at[HISTORY_ROWS - 1];
    let path_mm = path_at[HISTORY_ROWS - 1];
    for (let row = 0; row < count; row++) {
      const x = x_steps[row] * x_mm_per_step;
      const y = y_steps[row] * y_mm_per_step;
      path_mm += Math.sqrt(x * x + y * y);
      z += z_steps[row];
      z_at[HISTORY_ROWS + row] = z;
      path_at[HISTORY_ROWS + row] = path_mm;
    }
    this.rows_before = count;
  }

  private findEdges(block: TraceBlock): void {
    const { digital_inputs, digital_outputs, mode, stage, hold, fault, flags, contour } = block;
    const { burning, relay, crossing, off_sheet, count: rows } = block;
    const from = this.from;
    let count = 0;
    let state = -1;
    let codes = -1;
    let world = -1;
    for (let row = 0; row < rows; row++) {
      const now_state = digital_inputs[row] | (digital_outputs[row] << 16) | (mode[row] << 24);
      const now_codes = stage[row] | (hold[row] << 8) | (fault[row] << 16) | ((flags[row] & STATE_FLAGS) << 24);
      const now_world =
        burning[row] | (relay[row] << 1) | (crossing[row] << 2) | (off_sheet[row] << 3) | (contour[row] << 4);
      if (now_state !== state || now_codes !== codes || now_world !== world || row === 0) {
        state = now_state;
        codes = now_codes;
        world = now_world;
        from[++count] = row;
      }
    }
    this.count = count;
  }

  private findExtremes(i: number): void {
    const z_at = this.z_at;
    const end = HISTORY_ROWS + this.from[i + 1];
    let at = HISTORY_ROWS + this.from[i];
    let low = z_at[at];
    let high = low;
    let low_at = at;
    let high_at = at;
    for (at++; at < end; at++) {
      const z = z_at[at];
      if (z < low) {
        low = z;
        low_at = at;
      } else if (z > high) {
        high = z;
        high_at = at;
      }
    }
    this.z_low[i] = low;
    this.z_high[i] = high;
    this.low_row[i] = low_at - HISTORY_ROWS;
    this.high_row[i] = high_at - HISTORY_ROWS;
  }

  /** Take-over, touch-off and first permit: the references of later heights and paths. */
  private trackReferences(i: number): void {
    const at = HISTORY_ROWS + this.from[i];
    const taken =
      (this.digital_outputs[i] & OUTPUT_Z_OWNED) !== 0 && (this.digital_outputs[i - 1] & OUTPUT_Z_OWNED) === 0;
    this.z_taken[i] = taken ? this.z_at[at - 1] : this.z_taken[i - 1];
    const mode = this.mode[i];
    const before = this.mode[i - 1];
    let sheet = this.z_sheet[i - 1];
    let permit = this.path_permit[i - 1];
    if (mode === MODE_LIFT && before === MODE_SEEK && this.stage[i - 1] === STAGE_OPEN) {
      sheet = this.z_at[at - TOUCH_OPEN_TICKS] - this.offset_steps;
      permit = Number.POSITIVE_INFINITY;
    } else if (mode === MODE_REST || mode === MODE_SEEK) {
      sheet = Number.NaN;
      permit = Number.POSITIVE_INFINITY;
    }
    if (permit === Number.POSITIVE_INFINITY && (this.digital_outputs[i] & OUTPUT_PERMIT) !== 0)
      permit = this.path_at[at - 1];
    this.z_sheet[i] = sheet;
    this.path_permit[i] = permit;
  }

  private storeStretch(block: TraceBlock, row: number, to: number): void {
    for (const name of STATES) this[name][to] = block[name][row];
    this.flags[to] &= STATE_FLAGS;
  }

  /** The last stretch of a block becomes number 0 of the next. */
  private keepLast(): void {
    for (const name of [...STATES, ...REFERENCES]) this[name][0] = this[name][this.count];
  }
}

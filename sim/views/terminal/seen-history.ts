import { MODE_FOLLOW, MODE_HOLD, MODE_REST, MODE_STRIKE } from '../../../firmware/wire/codes.gen.js';
import { INPUT_REQUEST, OUTPUT_Z_OWNED } from '../../../firmware/wire/layout.js';
import type { TraceBlock } from '../../run/trace/index.js';
import { rowOf } from './history.js';
import { PathRing, TimeRing } from './rings.js';
import type { NowRow } from './scene.js';

/** What a picture of a box must know of it besides its rows. */
export interface SeenScene {
  /** Where the box is reached. */
  readonly address: string;
  readonly cut_height_mm: number;
  readonly pierce_height_mm: number;
  readonly z_steps_per_mm: number;
  /** The standoff counts as wanted within ± this, mm. */
  readonly tolerance_mm: number;
}

/** A box that sends a row less often than this has lost some, ms. */
const LONGEST_STEP_MS = 100;

/**
 * What the pictures of a watched box are drawn from, in bounded memory: what the box measures and believes. Where it
 * believes nothing (the standoff while it does not follow, the height of the sheet then) there is nothing.
 */
export class SeenHistory {
  readonly path = new PathRing();
  readonly time = new TimeRing();
  /** Times that a touch-off has begun. */
  starts = 0;
  /** Path since the watching began, from the feed that the box sees, mm. */
  path_mm = 0;
  /** Height of the sheet as last seen, from where the box took Z over, mm; NaN before. */
  sheet_mm = Number.NaN;
  private row: NowRow | undefined;
  private last_tick = -1;
  private last_mode = MODE_REST;

  constructor(readonly scene: SeenScene) {}

  /** The newest row; columns that a box does not know are not for use. */
  get now(): NowRow | undefined {
    return this.row;
  }

  /** Height of the torch over where the box took Z over, mm; NaN while Z belongs to the motion controller. */
  get z_mm(): number {
    const { row } = this;
    if (row === undefined || (row.digital_outputs & OUTPUT_Z_OWNED) === 0) return Number.NaN;
    return row.z / this.scene.z_steps_per_mm;
  }

  /** The standoff as the box sees it, mm; NaN while it does not look. */
  get standoff_mm(): number {
    return this.row === undefined ? Number.NaN : this.standoffOf(this.row.mode, this.row.measured_error_mm);
  }

  /** Takes in rows. The ticks up to a row that comes a little later than the last one count as alike. */
  add(block: TraceBlock): void {
    for (let i = 0; i < block.count; i++) this.addRow(block, i);
    if (block.count > 0) this.row = rowOf(block, block.count - 1);
  }

  private addRow(block: TraceBlock, i: number): void {
    const tick = block.first_tick + i;
    const mode = block.mode[i];
    const step_ms = tick - this.last_tick;
    const alike = this.last_tick >= 0 && step_ms <= LONGEST_STEP_MS ? step_ms : 1;
    const standoff_mm = this.standoffOf(mode, block.measured_error_mm[i]);
    for (let back = alike - 1; back >= 0; back--)
      this.time.add(tick - back, standoff_mm, block.measured_V[i], block.target_V[i], mode, block.hold[i]);
    if (this.last_mode === MODE_REST && mode !== MODE_REST) {
      // Heights count from where the box takes Z over, again each time.
      this.starts++;
      this.sheet_mm = Number.NaN;
    }
    this.last_tick = tick;
    this.last_mode = mode;
    if ((block.digital_inputs[i] & INPUT_REQUEST) === 0) return;

    const z_mm = block.z[i] / this.scene.z_steps_per_mm;
    const lit = mode >= MODE_STRIKE && mode <= MODE_HOLD;
    const sheet_mm = z_mm - standoff_mm;
    if (!Number.isNaN(sheet_mm)) this.sheet_mm = sheet_mm;
    for (let step = 0; step < alike; step++) {
      this.path_mm += block.measured_feed_mm_s[i] / 1000;
      this.path.add(this.path_mm, sheet_mm, lit ? z_mm : Number.NaN, this.scene.cut_height_mm, 0, this.starts);
    }
  }

  private standoffOf(mode: number, measured_error_mm: number): number {
    return mode === MODE_FOLLOW ? this.scene.cut_height_mm + measured_error_mm : Number.NaN;
  }
}

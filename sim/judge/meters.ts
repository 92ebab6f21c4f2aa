import { MODE_FOLLOW, MODE_HOLD } from '../../firmware/wire/codes.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { Stretches } from './stretches.js';

/** Path before and after a corner that belongs to it: what a table needs to brake and speed up again. */
export const CORNER_WINDOW_MM = 12;
/** A crossing is watched for this long after its end, for the swing when the regulator takes over… */
export const CROSSING_AFTER_MS = 300;
/** …or this far, whichever comes first. */
const CROSSING_AFTER_MM = 15;

/** The deepest dives at corners and at kerf crossings. The meters stand apart: figures.ts would be too long. */
export class DiveMeter {
  private corner_dive_mm = 0;
  private crossing_dive_mm = 0;
  private corners = 0;
  private crossings = 0;
  private near_corner = false;
  private was_crossing = 0;
  /** In a crossing, or in what follows it. */
  private after = false;
  private end_tick = 0;
  private end_path_mm = 0;

  constructor(private readonly cut_height_mm: number) {}

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const from = s.from[i];
      const crossing = s.crossing[i];
      const counts = (s.mode[i] === MODE_FOLLOW || s.mode[i] === MODE_HOLD) && s.off_sheet[i] === 0;
      if (crossing) {
        if (!this.was_crossing && counts) this.crossings++;
        this.after = true;
      } else if (this.was_crossing) {
        this.end_tick = block.first_tick + from;
        this.end_path_mm = block.path_mm[from];
      }
      this.was_crossing = crossing;
      if (!counts) {
        this.near_corner = false;
        continue;
      }
      let row = from;
      if (this.after) row = this.crossingRows(block, from, s.from[i + 1], crossing !== 0);
      this.cornerRows(block, row, s.from[i + 1]);
    }
  }

  /** @returns the first row that no longer belongs to the crossing */
  private crossingRows(block: TraceBlock, from: number, end: number, crossing: boolean): number {
    const { standoff_mm, path_mm } = block;
    const last_row = this.end_tick + CROSSING_AFTER_MS - block.first_tick;
    const last_path_mm = this.end_path_mm + CROSSING_AFTER_MM;
    let least = Number.POSITIVE_INFINITY;
    let row = from;
    for (; row < end; row++) {
      if (!crossing && (row > last_row || path_mm[row] > last_path_mm)) {
        this.after = false;
        break;
      }
      if (standoff_mm[row] < least) least = standoff_mm[row];
    }
    const dive = this.cut_height_mm - least;
    if (dive > this.crossing_dive_mm) this.crossing_dive_mm = dive;
    return row;
  }

  private cornerRows(block: TraceBlock, from: number, end: number): void {
    const { standoff_mm, corner_mm } = block;
    let least = Number.POSITIVE_INFINITY;
    let near = this.near_corner;
    for (let row = from; row < end; row++) {
      if (corner_mm[row] > CORNER_WINDOW_MM) {
        near = false;
        continue;
      }
      if (!near) this.corners++;
      near = true;
      if (standoff_mm[row] < least) least = standoff_mm[row];
    }
    this.near_corner = near;
    const dive = this.cut_height_mm - least;
    if (dive > this.corner_dive_mm) this.corner_dive_mm = dive;
  }

  figures() {
    return {
      corner_dive_mm: this.corners > 0 ? this.corner_dive_mm : null,
      corners: this.corners,
      kerf_crossing_dive_mm: this.crossings > 0 ? this.crossing_dive_mm : null,
      crossings: this.crossings,
    };
  }
}

/** Ten-minute period of the duty cycle, s (IEC 60974-1; seen). */
const PERIOD_S = 600;
const TICKS_PER_S = 1000;

/** Arc time in the busiest ten minutes, counted in whole seconds of the run. */
export class DutyMeter {
  private readonly ticks = new Uint16Array(PERIOD_S);
  private second = -1;
  private sum = 0;
  private busiest = 0;

  /** Adds `length` ticks of arc from `tick` on; ticks only go forward. */
  add(tick: number, length: number): void {
    while (length > 0) {
      const second = Math.floor(tick / TICKS_PER_S);
      this.advance(second);
      const left = (second + 1) * TICKS_PER_S - tick;
      const part = Math.min(left, length);
      this.ticks[second % PERIOD_S] += part;
      this.sum += part;
      if (this.sum > this.busiest) this.busiest = this.sum;
      tick += part;
      length -= part;
    }
  }

  /** Share of ten minutes, 0…1. */
  share(): number {
    return this.busiest / (PERIOD_S * TICKS_PER_S);
  }

  private advance(second: number): void {
    if (second - this.second >= PERIOD_S) {
      this.ticks.fill(0);
      this.sum = 0;
      this.second = second;
      return;
    }
    while (this.second < second) {
      this.second++;
      const place = this.second % PERIOD_S;
      this.sum -= this.ticks[place];
      this.ticks[place] = 0;
    }
  }
}

import {
  HOLD_CORNER,
  HOLD_CROSSING,
  HOLD_LIMITED,
  MODE_HOLD,
  MODE_LOWER,
  MODE_SETTLE,
  MODE_STRIKE,
} from '../../../firmware/wire/codes.gen.js';
import { INPUT_REQUEST } from '../../../firmware/wire/layout.js';
import { COLUMN_ROWS, type ColumnName, type TraceBlock } from '../../run/trace/index.js';
import { GAP_EDGE, GAP_KERF, Overview, PathRing, TimeRing } from './rings.js';
import type { NowRow, ViewScene } from './scene.js';

/** Where along the path a deviation belongs to a corner or to a kerf crossing. */
const CORNER_WINDOW_MM = 12;
const CROSSING_WINDOW_MM = 15;
/** How far the torch goes on before the surroundings of a worst moment are kept. */
const AFTERMATH_MM = 15;

export type WorstCause = 'corner' | 'crossing' | 'settling' | 'following';

/** The moment of the largest deviation to one side, while cutting over metal. */
export interface WorstMoment {
  /** Standoff minus what was wanted; negative is too close to the sheet. */
  readonly error_mm: number;
  readonly tick: number;
  readonly path_mm: number;
  /** Line of the program. */
  readonly line: number;
  /** From 0. */
  readonly contour: number;
  readonly cause: WorstCause;
}

interface Kept {
  readonly moment: WorstMoment;
  section: PathRing | undefined;
}

/**
 * What the pictures need from a run, in bounded memory: the recent path and time, the whole run in
 * overview, the worst moments with their surroundings, and how much was as wanted. Nothing is judged here that the
 * requirements judge; this is for the eye.
 */
export class ViewHistory {
  readonly path = new PathRing();
  readonly time = new TimeRing();
  readonly overview = new Overview();
  /** Ticks with a burning arc over metal in settle, follow or hold. */
  cutting_ticks = 0;
  /** Those of them within the tolerance. */
  within_ticks = 0;
  private row: NowRow | undefined;
  private closest: Kept | undefined;
  private farthest: Kept | undefined;
  private last_crossing_mm = Number.NEGATIVE_INFINITY;

  constructor(readonly scene: ViewScene) {}

  /** The newest row; undefined before the first. */
  get now(): NowRow | undefined {
    return this.row;
  }

  /** Where the torch was furthest below, and furthest above, what was wanted. */
  get lowest(): WorstMoment | undefined {
    return this.closest?.moment;
  }

  get highest(): WorstMoment | undefined {
    return this.farthest?.moment;
  }

  /** The path around a worst moment, as it was shortly after it. */
  sectionOf(moment: WorstMoment): PathRing {
    const kept = moment === this.closest?.moment ? this.closest : this.farthest;
    return kept?.section ?? this.path;
  }

  /** Take in rows from…to (not included) of a block. */
  add(block: TraceBlock, from = 0, to = block.count): void {
    const { mode, hold, digital_inputs, path_mm, plate_mm, torch_mm, standoff_mm } = block;
    const { burning, crossing, off_sheet, contour, measured_V, target_V } = block;
    const { cut_height_mm, pierce_height_mm, tolerance_mm } = this.scene;
    for (let i = from; i < to; i++) {
      const m = mode[i];
      this.time.add(block.first_tick + i, standoff_mm[i], measured_V[i], target_V[i], m, hold[i]);
      const lit = burning[i] !== 0 && m >= MODE_STRIKE && m <= MODE_HOLD;
      if (!lit && (digital_inputs[i] & INPUT_REQUEST) === 0) continue;
      const wanted_mm = m < MODE_LOWER ? pierce_height_mm : cut_height_mm;
      const gap = (crossing[i] !== 0 ? GAP_KERF : 0) | (off_sheet[i] !== 0 ? GAP_EDGE : 0);
      this.path.add(path_mm[i], plate_mm[i], lit ? torch_mm[i] : Number.NaN, wanted_mm, gap, contour[i]);
      if (crossing[i] !== 0) this.last_crossing_mm = path_mm[i];

      if (!lit || m < MODE_SETTLE || off_sheet[i] !== 0) continue;
      const error_mm = standoff_mm[i] - cut_height_mm;
      this.cutting_ticks++;
      if (Math.abs(error_mm) <= tolerance_mm) this.within_ticks++;
      this.overview.add(path_mm[i], standoff_mm[i]);
      if (error_mm < (this.closest?.moment.error_mm ?? 0)) this.closest = this.keep(block, i, error_mm);
      if (error_mm > (this.farthest?.moment.error_mm ?? 0)) this.farthest = this.keep(block, i, error_mm);
      this.settleKept(this.closest, path_mm[i], contour[i]);
      this.settleKept(this.farthest, path_mm[i], contour[i]);
    }
    if (to > from) this.row = rowOf(block, to - 1);
  }

  private keep(block: TraceBlock, i: number, error_mm: number): Kept {
    return {
      moment: {
        error_mm,
        tick: block.first_tick + i,
        path_mm: block.path_mm[i],
        line: block.line[i],
        contour: block.contour[i],
        cause: this.cause(block, i),
      },
      section: undefined,
    };
  }

  private cause(block: TraceBlock, i: number): WorstCause {
    const hold = block.hold[i];
    if (hold === HOLD_CROSSING || hold === HOLD_LIMITED) return 'crossing';
    if (hold === HOLD_CORNER) return 'corner';
    if (block.path_mm[i] - this.last_crossing_mm <= CROSSING_WINDOW_MM) return 'crossing';
    if (block.corner_mm[i] <= CORNER_WINDOW_MM) return 'corner';
    return block.mode[i] === MODE_SETTLE ? 'settling' : 'following';
  }

  private settleKept(kept: Kept | undefined, path_mm: number, contour: number): void {
    if (kept === undefined || kept.section !== undefined) return;
    if (path_mm > kept.moment.path_mm + AFTERMATH_MM || contour !== kept.moment.contour)
      kept.section = this.path.copy();
  }
}

/** One row of a block, by itself. */
export function rowOf(block: TraceBlock, i: number): NowRow {
  const row: Record<string, number> = { tick: block.first_tick + i };
  for (const [name] of COLUMN_ROWS) row[name as ColumnName] = block[name as ColumnName][i];
  return row as NowRow;
}

import {
  HOLD_CORNER,
  HOLD_CROSSING,
  HOLD_LIMITED,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LOWER,
  MODE_REST,
  MODE_SETTLE,
  MODE_STRIKE,
} from '../../../firmware/wire/codes.gen.js';
import { INPUT_REQUEST, OUTPUT_Z_OWNED } from '../../../firmware/wire/layout.gen.js';
import type { ColumnName, TraceBlock } from '../../run/trace/index.js';
import { GAP_EDGE, GAP_KERF, Overview, PathRing, TimeRing } from './rings.js';

/** Where along the path a deviation belongs to a corner or to a kerf crossing. */
const CORNER_WINDOW_MM = 12;
const CROSSING_WINDOW_MM = 15;
/** How far the torch goes on before the surroundings of a worst moment are kept. */
const AFTERMATH_MM = 15;
/** A box that sends a row less often than this has lost some, ms. */
const LONGEST_STEP_MS = 100;

/** The standoffs that a cut is to keep, mm. */
interface Targets {
  readonly cut_height_mm: number;
  readonly pierce_height_mm: number;
  /** The standoff counts as on target within ± this. */
  readonly tolerance_mm: number;
}

/** A simulated cut: its rows hold the truth of the world. */
export interface SimulatedScene extends Targets {
  /** Name of the program as the user knows it. */
  readonly program: string;
  /** What the box was told of the arc's voltage at cut height, V. */
  readonly told_V: number;
  /** Contours in the program. */
  readonly contours: number;
  /** Thickness of the sheet, for the drawing only, mm. */
  readonly thickness_mm: number;
}

/** A box that is watched: its rows hold what it measures and believes, and nothing else. */
export interface BoxScene extends Targets {
  /** Where the box is reached. */
  readonly address: string;
  readonly z_steps_per_mm: number;
  /** In force when the box was found. */
  readonly trim_V: number;
}

/** What stays the same while a cut is shown. */
export type ViewScene = SimulatedScene | BoxScene;

export const isBox = (scene: ViewScene): scene is BoxScene => 'address' in scene;

/** Columns that a picture shows and that every box knows. */
const BOX_COLUMNS = [
  ...(['digital_inputs', 'digital_outputs', 'flags', 'relay', 'mode', 'hold', 'fault', 'refusal'] as const),
  ...(['measured_V', 'target_V', 'z_velocity_mm_s', 'slope_x', 'slope_y'] as const),
] satisfies readonly ColumnName[];
/** Columns that only a simulation knows, and what a box does not send of what it has found. */
const TRUTH_COLUMNS = [
  'burning',
  'contacts',
  'contour',
  'line',
  'found_target_V',
] as const satisfies readonly ColumnName[];

/** The newest row as it is shown. */
export type NowRow = Readonly<Record<(typeof BOX_COLUMNS)[number], number>> & {
  /** From power-up. */
  readonly tick: number;
  /** True in a simulation; of a box the standoff by the voltage while it follows, NaN otherwise. */
  readonly standoff_mm: number;
  /** Sheet under the torch; of a box as last believed, NaN before. Heights of a box count from where it took Z over. */
  readonly plate_mm: number;
  /** Torch tip; of a box NaN while Z belongs to the motion controller. */
  readonly torch_mm: number;
  /** Of a box since the watching began, from the feed that it measures. */
  readonly path_mm: number;
  readonly feed_mm_s: number;
  /** Absent for a box. */
  readonly truth?: Readonly<Record<(typeof TRUTH_COLUMNS)[number], number>>;
};

export type WorstCause = 'corner' | 'crossing' | 'settling' | 'following';

/** The moment of the largest deviation to one side, while cutting over metal. */
export interface WorstMoment {
  /** Standoff minus target; negative is too close to the sheet. */
  readonly error_mm: number;
  readonly tick: number;
  readonly path_mm: number;
  /** Line of the program. */
  readonly line: number;
  /** From 0. */
  readonly contour: number;
  readonly cause: WorstCause;
}

/**
 * What the pictures need, in bounded memory: the recent path and time; of a simulated cut also the whole run in
 * overview, the deepest moment with its surroundings, and how much was on target. Nothing is judged here that the
 * requirements judge; this is for the eye.
 */
export class ViewHistory<Scene extends ViewScene = ViewScene> {
  readonly path = new PathRing();
  readonly time = new TimeRing();
  readonly overview = new Overview();
  /** Simulated ticks with a burning arc over metal in settle, follow or hold. */
  cutting_ticks = 0;
  /** Those of them within the tolerance. */
  within_ticks = 0;
  /** Touch-offs that a box has begun. */
  starts = 0;
  /** The newest row; undefined before the first. */
  now: NowRow | undefined;
  /** Where the torch was furthest below target. */
  lowest: WorstMoment | undefined;
  private lowest_section: PathRing | undefined;
  private last_crossing_mm = Number.NEGATIVE_INFINITY;
  private box_path_mm = 0;
  private box_plate_mm = Number.NaN;
  private last_tick = -1;
  private last_mode = MODE_REST;

  /** @param scene what does not change from block to block; but for what is only told, it stays as it is */
  constructor(public scene: Scene) {}

  /** The path around the deepest moment, as it was shortly after it. */
  get lowestSection(): PathRing {
    return this.lowest_section ?? this.path;
  }

  /** Takes in the rows of a block. */
  add(block: TraceBlock): void {
    const { scene } = this;
    const last = block.count - 1;
    if (last < 0) return;
    const columns = <N extends ColumnName>(names: readonly N[]) =>
      Object.fromEntries(names.map((name) => [name, block[name][last]])) as Record<N, number>;
    const common = { ...columns(BOX_COLUMNS), tick: block.first_tick + last };
    if (isBox(scene)) {
      for (let i = 0; i <= last; i++) this.addBelieved(block, i, scene);
      const owned = (block.digital_outputs[last] & OUTPUT_Z_OWNED) !== 0;
      this.now = {
        ...common,
        standoff_mm: believedStandoff(block, last, scene),
        plate_mm: this.box_plate_mm,
        torch_mm: owned ? block.z[last] / scene.z_steps_per_mm : Number.NaN,
        path_mm: this.box_path_mm,
        feed_mm_s: block.measured_feed_mm_s[last],
      };
    } else {
      for (let i = 0; i <= last; i++) this.addTrue(block, i, scene);
      const shown = columns(['standoff_mm', 'plate_mm', 'torch_mm', 'path_mm', 'feed_mm_s']);
      this.now = { ...common, ...shown, truth: columns(TRUTH_COLUMNS) };
    }
  }

  private addTrue(block: TraceBlock, i: number, scene: SimulatedScene): void {
    const mode = block.mode[i];
    const standoff_mm = block.standoff_mm[i];
    const path_mm = block.path_mm[i];
    const contour = block.contour[i];
    this.addTime(block, i, block.first_tick + i, standoff_mm);
    const lit = block.burning[i] !== 0 && mode >= MODE_STRIKE && mode <= MODE_HOLD;
    if (!lit && (block.digital_inputs[i] & INPUT_REQUEST) === 0) return;
    const target_mm = mode < MODE_LOWER ? scene.pierce_height_mm : scene.cut_height_mm;
    const gap = (block.crossing[i] !== 0 ? GAP_KERF : 0) | (block.off_sheet[i] !== 0 ? GAP_EDGE : 0);
    this.path.add(path_mm, block.plate_mm[i], lit ? block.torch_mm[i] : Number.NaN, target_mm, gap, contour);
    if (block.crossing[i] !== 0) this.last_crossing_mm = path_mm;

    if (!lit || mode < MODE_SETTLE || block.off_sheet[i] !== 0) return;
    const error_mm = standoff_mm - scene.cut_height_mm;
    this.cutting_ticks++;
    if (Math.abs(error_mm) <= scene.tolerance_mm) this.within_ticks++;
    this.overview.add(path_mm, standoff_mm);
    if (error_mm < (this.lowest?.error_mm ?? 0)) {
      const line = block.line[i];
      this.lowest = { error_mm, tick: block.first_tick + i, path_mm, line, contour, cause: this.cause(block, i) };
      this.lowest_section = undefined;
    }
    const { lowest } = this;
    if (lowest === undefined || this.lowest_section !== undefined) return;
    if (path_mm > lowest.path_mm + AFTERMATH_MM || contour !== lowest.contour) this.lowest_section = this.path.copy();
  }

  /** The ticks up to a row that comes a little later than the last one count as alike. */
  private addBelieved(block: TraceBlock, i: number, scene: BoxScene): void {
    const tick = block.first_tick + i;
    const mode = block.mode[i];
    const step_ms = tick - this.last_tick;
    const alike = this.last_tick >= 0 && step_ms <= LONGEST_STEP_MS ? step_ms : 1;
    const standoff_mm = believedStandoff(block, i, scene);
    for (let back = alike - 1; back >= 0; back--) this.addTime(block, i, tick - back, standoff_mm);
    if (this.last_mode === MODE_REST && mode !== MODE_REST) {
      // Heights count from where the box takes Z over, each time again.
      this.starts++;
      this.box_plate_mm = Number.NaN;
    }
    this.last_tick = tick;
    this.last_mode = mode;
    if ((block.digital_inputs[i] & INPUT_REQUEST) === 0) return;

    const z_mm = block.z[i] / scene.z_steps_per_mm;
    const torch_mm = mode >= MODE_STRIKE && mode <= MODE_HOLD ? z_mm : Number.NaN;
    const plate_mm = z_mm - standoff_mm;
    if (!Number.isNaN(plate_mm)) this.box_plate_mm = plate_mm;
    for (let step = 0; step < alike; step++) {
      this.box_path_mm += block.measured_feed_mm_s[i] / 1000;
      this.path.add(this.box_path_mm, plate_mm, torch_mm, scene.cut_height_mm, 0, this.starts);
    }
  }

  private addTime(block: TraceBlock, i: number, tick: number, standoff_mm: number): void {
    this.time.add(tick, standoff_mm, block.measured_V[i], block.target_V[i], block.mode[i], block.hold[i]);
  }

  private cause(block: TraceBlock, i: number): WorstCause {
    const hold = block.hold[i];
    if (hold === HOLD_CROSSING || hold === HOLD_LIMITED) return 'crossing';
    if (hold === HOLD_CORNER) return 'corner';
    if (block.path_mm[i] - this.last_crossing_mm <= CROSSING_WINDOW_MM) return 'crossing';
    if (block.corner_mm[i] <= CORNER_WINDOW_MM) return 'corner';
    return block.mode[i] === MODE_SETTLE ? 'settling' : 'following';
  }
}

function believedStandoff(block: TraceBlock, i: number, scene: BoxScene): number {
  return block.mode[i] === MODE_FOLLOW ? scene.cut_height_mm + block.measured_error_mm[i] : Number.NaN;
}

// One part of the world, a file: the surface of the sheet, and how heat raises it.
import { Random, sine_of_turns } from '../../base/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { exactCosine, exactSine, SIGNAL, STREAM } from './signals.js';

/**
 * Growth of the sheet where the arc has burnt: heights on a coarse grid, bilinear between its nodes. The
 * neighbourhood is one cell (20 mm or more); the sheet is not cooled during a run (assumption).
 */
class HeatMap {
  /** Value and slopes at the last `look`. */
  height_mm = 0;
  slope_x = 0;
  slope_y = 0;
  private readonly nodes: Float64Array;
  private readonly columns: number;
  private readonly rows: number;
  private readonly cell_mm: number;

  constructor(width_mm: number, height_mm: number) {
    this.cell_mm = Math.max(20, width_mm / 32, height_mm / 32);
    this.columns = Math.ceil(width_mm / this.cell_mm) + 2;
    this.rows = Math.ceil(height_mm / this.cell_mm) + 2;
    this.nodes = new Float64Array(this.columns * this.rows);
  }

  /** Raise the sheet at a point by an amount; the four nodes around share it so that the point itself gets all. */
  add(x_mm: number, y_mm: number, growth_mm: number): void {
    const u = x_mm / this.cell_mm;
    const v = y_mm / this.cell_mm;
    const column = Math.floor(u);
    const row = Math.floor(v);
    if (!(column >= 0 && row >= 0 && column < this.columns - 1 && row < this.rows - 1)) return;
    const a = u - column;
    const b = v - row;
    const squares = (a * a + (1 - a) * (1 - a)) * (b * b + (1 - b) * (1 - b));
    const amount = growth_mm / squares;
    const at = row * this.columns + column;
    this.nodes[at] += amount * (1 - a) * (1 - b);
    this.nodes[at + 1] += amount * a * (1 - b);
    this.nodes[at + this.columns] += amount * (1 - a) * b;
    this.nodes[at + this.columns + 1] += amount * a * b;
  }

  /** Leave height and slopes at a point in the fields; nothing outside the grid. */
  look(x_mm: number, y_mm: number): void {
    const u = x_mm / this.cell_mm;
    const v = y_mm / this.cell_mm;
    const column = Math.floor(u);
    const row = Math.floor(v);
    if (!(column >= 0 && row >= 0 && column < this.columns - 1 && row < this.rows - 1)) {
      this.height_mm = 0;
      this.slope_x = 0;
      this.slope_y = 0;
      return;
    }
    const a = u - column;
    const b = v - row;
    const at = row * this.columns + column;
    const low_left = this.nodes[at];
    const low_right = this.nodes[at + 1];
    const high_left = this.nodes[at + this.columns];
    const high_right = this.nodes[at + this.columns + 1];
    const low = low_left + a * (low_right - low_left);
    const high = high_left + a * (high_right - high_left);
    this.height_mm = low + b * (high - low);
    this.slope_x = ((1 - b) * (low_right - low_left) + b * (high_right - high_left)) / this.cell_mm;
    this.slope_y = (high - low) / this.cell_mm;
  }
}

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;

/** The tangent plane at a point stands for the surface as far as it errs by less than this. */
const TANGENT_ERROR_MM = 0.0005;
/** While the arc burns on the spot, growth by heat is laid down this often. */
const GROWTH_TICKS = 32;

/** The sheet's surface: tilt, bow, waviness, growth by heat and one tipped-up offcut. */
export class Plate {
  /** 1 when there is no sheet at this place. */
  off_sheet = 0;

  private readonly heat: HeatMap;
  private readonly growth_mm_per_tick: number;
  private growth_ticks = 0;
  /** The tangent plane: x and y of its point, height there, slopes along x and y. */
  private readonly tangent = new Float64Array([Infinity, Infinity, 0, 0, 0]);
  private readonly tangent_square: number;
  private readonly tilt_x: number;
  private readonly tilt_y: number;
  private readonly bow_mm: number;
  private readonly width_mm: number;
  private readonly height_mm: number;
  private readonly wave_mm: number;
  private readonly wave_x: number;
  private readonly wave_y: number;
  private readonly wave_phase: number;
  private readonly offcut_x_mm: number;
  private readonly offcut_y_mm: number;
  private readonly offcut_size_mm: number;
  private readonly offcut_height_mm: number;

  constructor(machine: MachineConfig, world: WorldConfig, seed: number) {
    const { sheet } = world;
    this.width_mm = machine.table.sheet_width_mm;
    this.height_mm = machine.table.sheet_height_mm;
    this.heat = new HeatMap(this.width_mm, this.height_mm);
    this.growth_mm_per_tick = sheet.heat_growth_mm_per_s / 1000;
    this.tilt_x = sheet.tilt_x;
    this.tilt_y = sheet.tilt_y;
    this.bow_mm = sheet.bow_mm;
    this.wave_mm = sheet.wave_mm;
    this.wave_x = exactCosine(sheet.wave_direction_deg / 360) / sheet.wave_length_mm;
    this.wave_y = exactSine(sheet.wave_direction_deg / 360) / sheet.wave_length_mm;
    const wave_number = (2 * Math.PI) / sheet.wave_length_mm;
    const bend =
      Math.abs(8 * sheet.bow_mm) / (this.width_mm * this.width_mm) + sheet.wave_mm * wave_number * wave_number;
    // An arc of curvature h'' leaves its tangent by h''·d²/2; no further than 1 mm because of the heat.
    this.tangent_square = Math.min(1, (2 * TANGENT_ERROR_MM) / Math.max(bend, 1e-9));
    const drawn = new Random(seed, STREAM.wave).uniform();
    this.wave_phase = sheet.wave_phase_from_seed ? drawn : sheet.wave_phase_turns;
    this.offcut_x_mm = sheet.offcut_x_mm;
    this.offcut_y_mm = sheet.offcut_y_mm;
    this.offcut_size_mm = sheet.offcut_size_mm;
    this.offcut_height_mm = sheet.offcut_height_mm;
  }

  /**
   * One millisecond: the height of the undeflected surface under the torch goes into the signals (beyond
   * the edges the sheet is continued), and the distance past the edge.
   * @param moved 1 if X or Y changed; @param burning 1 while the arc heats the sheet.
   */
  advance(signals: Float64Array, moved: number, burning: number): void {
    this.growth_ticks += burning;
    if (moved === 0 && this.growth_ticks < GROWTH_TICKS) return;
    const { tangent } = this;
    const x_mm = signals[AT.x_mm];
    const y_mm = signals[AT.y_mm];
    let dx = x_mm - tangent[0];
    let dy = y_mm - tangent[1];
    if (this.growth_ticks >= GROWTH_TICKS || dx * dx + dy * dy > this.tangent_square) {
      this.layTangent(x_mm, y_mm);
      dx = 0;
      dy = 0;
    }
    signals[AT.surface_mm] = tangent[2] + tangent[3] * dx + tangent[4] * dy;
    if (this.offcut_height_mm > 0) signals[AT.surface_mm] += this.offcut(x_mm, y_mm);
    if (x_mm >= 0 && y_mm >= 0 && x_mm <= this.width_mm && y_mm <= this.height_mm) {
      this.off_sheet = 0;
      signals[AT.beyond_mm] = 0;
    } else {
      this.off_sheet = 1;
      signals[AT.beyond_mm] = this.beyond(x_mm, y_mm);
    }
  }

  private layTangent(x_mm: number, y_mm: number): void {
    const { tangent } = this;
    if (this.growth_ticks > 0) {
      if (this.off_sheet === 0) this.heat.add(x_mm, y_mm, this.growth_ticks * this.growth_mm_per_tick);
      this.growth_ticks = 0;
    }
    this.heat.look(x_mm, y_mm);
    const turns = x_mm * this.wave_x + y_mm * this.wave_y + this.wave_phase;
    const along = x_mm / this.width_mm;
    const swing = this.wave_mm * 2 * Math.PI * sine_of_turns(turns + 0.25);
    tangent[0] = x_mm;
    tangent[1] = y_mm;
    tangent[2] =
      this.tilt_x * x_mm +
      this.tilt_y * y_mm +
      4 * this.bow_mm * along * (1 - along) +
      this.wave_mm * sine_of_turns(turns) +
      this.heat.height_mm;
    tangent[3] =
      this.tilt_x + (4 * this.bow_mm * (1 - 2 * along)) / this.width_mm + swing * this.wave_x + this.heat.slope_x;
    tangent[4] = this.tilt_y + swing * this.wave_y + this.heat.slope_y;
  }

  /** The offcut rises from its low edge at least X to its raised edge: a ramp from one side, a wall from the other. */
  private offcut(x_mm: number, y_mm: number): number {
    const u = (x_mm - this.offcut_x_mm) / this.offcut_size_mm;
    const v = (y_mm - this.offcut_y_mm) / this.offcut_size_mm;
    return u >= 0 && u <= 1 && v >= 0 && v <= 1 ? u * this.offcut_height_mm : 0;
  }

  private beyond(x_mm: number, y_mm: number): number {
    const dx = x_mm < 0 ? -x_mm : Math.max(0, x_mm - this.width_mm);
    const dy = y_mm < 0 ? -y_mm : Math.max(0, y_mm - this.height_mm);
    return Math.sqrt(dx * dx + dy * dy);
  }
}

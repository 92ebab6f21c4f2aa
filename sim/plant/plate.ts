import { Random, sine_of_turns } from '../base/index.js';
import { HeatMap } from './heat.js';
import type { MachineConfig } from './machine-config.js';
import { exactCosine, exactSine } from './series.js';
import { STREAM } from './streams.js';
import type { WorldConfig } from './world-config.js';

/** Distance for which the tangent plane at a point stands for the surface, mm (error h''·d²/2: under 8 µm at the steepest wave). */
const TANGENT_MM = 0.25;
/** While the arc burns on the spot, growth by heat is laid down this often. */
const GROWTH_TICKS = 16;

/** The sheet's surface: tilt, bow, waviness, growth by heat and one tipped-up offcut. */
export class Plate {
  /** Height of the undeflected surface under the torch, mm above datum; beyond the edges the sheet is continued. */
  surface_mm = 0;
  /** 1 when there is no sheet at this place. */
  off_sheet = 0;
  /** Distance to the sheet, mm; 0 over it. */
  beyond_mm = 0;

  private readonly heat: HeatMap;
  private readonly growth_mm_per_tick: number;
  private growth_ticks = 0;
  private anchor_x_mm = Infinity;
  private anchor_y_mm = Infinity;
  private anchor_mm = 0;
  private slope_x = 0;
  private slope_y = 0;
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
    const drawn = new Random(seed, STREAM.wave).uniform();
    this.wave_phase = sheet.wave_phase_from_seed ? drawn : sheet.wave_phase_turns;
    this.offcut_x_mm = sheet.offcut_x_mm;
    this.offcut_y_mm = sheet.offcut_y_mm;
    this.offcut_size_mm = sheet.offcut_size_mm;
    this.offcut_height_mm = sheet.offcut_height_mm;
  }

  /** One millisecond. @param moved 1 if X or Y changed; @param burning 1 while the arc heats the sheet. */
  advance(x_mm: number, y_mm: number, moved: number, burning: number): void {
    this.growth_ticks += burning;
    if (moved === 0 && this.growth_ticks < GROWTH_TICKS) return;
    const dx = x_mm - this.anchor_x_mm;
    const dy = y_mm - this.anchor_y_mm;
    if (dx * dx + dy * dy <= TANGENT_MM * TANGENT_MM && this.growth_ticks < GROWTH_TICKS) {
      this.surface_mm = this.anchor_mm + this.slope_x * dx + this.slope_y * dy;
    } else {
      this.anchor(x_mm, y_mm);
      this.surface_mm = this.anchor_mm;
    }
    if (this.offcut_height_mm > 0) this.surface_mm += this.offcut(x_mm, y_mm);
    this.edges(x_mm, y_mm);
  }

  private anchor(x_mm: number, y_mm: number): void {
    if (this.growth_ticks > 0) {
      if (this.off_sheet === 0) this.heat.add(x_mm, y_mm, this.growth_ticks * this.growth_mm_per_tick);
      this.growth_ticks = 0;
    }
    this.heat.look(x_mm, y_mm);
    const turns = x_mm * this.wave_x + y_mm * this.wave_y + this.wave_phase;
    const along = x_mm / this.width_mm;
    const swing = this.wave_mm * 2 * Math.PI * sine_of_turns(turns + 0.25);
    this.anchor_x_mm = x_mm;
    this.anchor_y_mm = y_mm;
    this.anchor_mm =
      this.tilt_x * x_mm +
      this.tilt_y * y_mm +
      4 * this.bow_mm * along * (1 - along) +
      this.wave_mm * sine_of_turns(turns) +
      this.heat.height_mm;
    this.slope_x =
      this.tilt_x + (4 * this.bow_mm * (1 - 2 * along)) / this.width_mm + swing * this.wave_x + this.heat.slope_x;
    this.slope_y = this.tilt_y + swing * this.wave_y + this.heat.slope_y;
  }

  /** The offcut rises from its low edge at least X to its raised edge: a ramp from one side, a wall from the other. */
  private offcut(x_mm: number, y_mm: number): number {
    const u = (x_mm - this.offcut_x_mm) / this.offcut_size_mm;
    const v = (y_mm - this.offcut_y_mm) / this.offcut_size_mm;
    return u >= 0 && u <= 1 && v >= 0 && v <= 1 ? u * this.offcut_height_mm : 0;
  }

  private edges(x_mm: number, y_mm: number): void {
    if (x_mm >= 0 && y_mm >= 0 && x_mm <= this.width_mm && y_mm <= this.height_mm) {
      this.off_sheet = 0;
      this.beyond_mm = 0;
      return;
    }
    const dx = x_mm < 0 ? -x_mm : Math.max(0, x_mm - this.width_mm);
    const dy = y_mm < 0 ? -y_mm : Math.max(0, y_mm - this.height_mm);
    this.off_sheet = 1;
    this.beyond_mm = Math.sqrt(dx * dx + dy * dy);
  }
}

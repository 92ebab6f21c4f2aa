import {
  OUTPUT_FAULT,
  OUTPUT_FEED_EFFECT_V,
  OUTPUT_FLAGS,
  OUTPUT_HOLD,
  OUTPUT_MEASURED_ERROR_MM,
  OUTPUT_MEASURED_FEED_MM_S,
  OUTPUT_MEASURED_V,
  OUTPUT_MODE,
  OUTPUT_REFUSAL,
  OUTPUT_SLOPE_X,
  OUTPUT_SLOPE_Y,
  OUTPUT_STAGE,
  OUTPUT_TARGET_V,
  OUTPUT_Z,
  OUTPUT_Z_VELOCITY_MM_S,
  READINGS_PER_TICK,
} from '../../../firmware/wire/layout.js';
import type { MotionPlayer } from '../../world/motion/index.js';
import type { World } from '../../world/plant/index.js';
import type { Controller } from '../controller/index.js';
import { type BlockToFill, columnStart } from '../trace/index.js';

// Places in the output block and in the arrays of the trace block. Of this module's own, because the engine folds its
// constants and not imported ones.
const AT_ARC_V = OUTPUT_MEASURED_V / 4;
const AT_ERROR_MM = OUTPUT_MEASURED_ERROR_MM / 4;
const AT_FAULT = OUTPUT_FAULT / 4;
const AT_FEED_EFFECT_V = OUTPUT_FEED_EFFECT_V / 4;
const AT_FEED_MM_S = OUTPUT_MEASURED_FEED_MM_S / 4;
const AT_FLAGS = OUTPUT_FLAGS / 4;
const AT_HOLD = OUTPUT_HOLD / 4;
const AT_MODE = OUTPUT_MODE / 4;
const AT_REFUSAL = OUTPUT_REFUSAL / 4;
const AT_SLOPE_X = OUTPUT_SLOPE_X / 4;
const AT_SLOPE_Y = OUTPUT_SLOPE_Y / 4;
const AT_STAGE = OUTPUT_STAGE / 4;
const AT_TARGET_V = OUTPUT_TARGET_V / 4;
const AT_Z = OUTPUT_Z / 4;
const AT_Z_VELOCITY_MM_S = OUTPUT_Z_VELOCITY_MM_S / 4;
const LAST_READING = READINGS_PER_TICK - 1;
const DIGITAL_INPUTS = columnStart('digital_inputs');
const READING = columnStart('reading');
const X_STEPS = columnStart('x_steps');
const Y_STEPS = columnStart('y_steps');
const Z_STEPS = columnStart('z_steps');
const DIGITAL_OUTPUTS = columnStart('digital_outputs');
const MODE = columnStart('mode');
const STAGE = columnStart('stage');
const HOLD = columnStart('hold');
const FAULT = columnStart('fault');
const REFUSAL = columnStart('refusal');
const FLAGS = columnStart('flags');
const Z = columnStart('z');
const MEASURED_V = columnStart('measured_V');
const TARGET_V = columnStart('target_V');
const MEASURED_ERROR_MM = columnStart('measured_error_mm');
const Z_VELOCITY_MM_S = columnStart('z_velocity_mm_s');
const MEASURED_FEED_MM_S = columnStart('measured_feed_mm_s');
const SLOPE_X = columnStart('slope_x');
const SLOPE_Y = columnStart('slope_y');
const FEED_EFFECT_V = columnStart('feed_effect_V');
const X_MM = columnStart('x_mm');
const Y_MM = columnStart('y_mm');
const FEED_MM_S = columnStart('feed_mm_s');
const PATH_MM = columnStart('path_mm');
const CORNER_MM = columnStart('corner_mm');
const CONTOUR = columnStart('contour');
const LINE = columnStart('line');
const TABLE_STATE = columnStart('table_state');
const STANDOFF_MM = columnStart('standoff_mm');
const PLATE_MM = columnStart('plate_mm');
const TORCH_MM = columnStart('torch_mm');
const TRUE_V = columnStart('true_V');
const BURNING = columnStart('burning');
const RELAY = columnStart('relay');
const CROSSING = columnStart('crossing');
const OFF_SHEET = columnStart('off_sheet');
const CONTACTS = columnStart('contacts');
const LOST_STEPS = columnStart('lost_steps');
const FAR_MM = 1e6;

/** Writes the rows of a run into its block. */
export class Recorder {
  constructor(
    private readonly block: BlockToFill,
    private readonly controller: Controller,
    private readonly world: World,
    private readonly table: MotionPlayer,
  ) {}

  /** What the tick that is over put in and got out, with table and world as they were in it. */
  row(row: number, digital_inputs: number, digital_outputs: number, z_steps: number): void {
    const { controller, world, table } = this;
    const { u8, u16, i16, i32, f32 } = this.block;
    const { integers, reals } = controller.output;
    u16[DIGITAL_INPUTS + row] = digital_inputs;
    u16[READING + row] = world.readings[LAST_READING]!;
    // What the box counts, as all that stands here about the box; where the table is comes below.
    i16[X_STEPS + row] = controller.x_steps;
    i16[Y_STEPS + row] = controller.y_steps;
    i16[Z_STEPS + row] = z_steps;
    u8[DIGITAL_OUTPUTS + row] = digital_outputs;
    u8[MODE + row] = integers[AT_MODE]!;
    u8[STAGE + row] = integers[AT_STAGE]!;
    u8[HOLD + row] = integers[AT_HOLD]!;
    u8[FAULT + row] = integers[AT_FAULT]!;
    u8[REFUSAL + row] = integers[AT_REFUSAL]!;
    u8[FLAGS + row] = integers[AT_FLAGS]!;
    i32[Z + row] = integers[AT_Z]!;
    f32[MEASURED_V + row] = reals[AT_ARC_V]!;
    f32[TARGET_V + row] = reals[AT_TARGET_V]!;
    f32[MEASURED_ERROR_MM + row] = reals[AT_ERROR_MM]!;
    f32[Z_VELOCITY_MM_S + row] = reals[AT_Z_VELOCITY_MM_S]!;
    f32[MEASURED_FEED_MM_S + row] = reals[AT_FEED_MM_S]!;
    f32[SLOPE_X + row] = reals[AT_SLOPE_X]!;
    f32[SLOPE_Y + row] = reals[AT_SLOPE_Y]!;
    f32[FEED_EFFECT_V + row] = reals[AT_FEED_EFFECT_V]!;
    f32[X_MM + row] = table.x_mm;
    f32[Y_MM + row] = table.y_mm;
    f32[FEED_MM_S + row] = table.feed_mm_s;
    f32[PATH_MM + row] = table.path_mm;
    f32[CORNER_MM + row] = Math.min(table.corner_distance_mm, FAR_MM);
    i16[CONTOUR + row] = table.contour;
    i32[LINE + row] = table.line;
    u8[TABLE_STATE + row] = table.state;
    f32[STANDOFF_MM + row] = world.standoff_mm;
    f32[PLATE_MM + row] = world.plate_mm;
    f32[TORCH_MM + row] = world.torch_mm;
    f32[TRUE_V + row] = world.true_V;
    u8[BURNING + row] = world.arc_burning;
    u8[RELAY + row] = world.relay;
    u8[CROSSING + row] = world.crossing;
    u8[OFF_SHEET + row] = world.off_sheet;
    i32[CONTACTS + row] = world.contacts;
    i32[LOST_STEPS + row] = world.lost_steps;
  }
}

// Generated from the rows by `npm run generate`. Do not edit.

import type { Controller } from '../controller/index.js';
import type { MotionPlayer } from '../../world/motion/index.js';
import type { World } from '../../world/plant/index.js';
import type { BlockToFill } from '../trace/index.js';

/** Writes the rows of a run into its block. */
export class Recorder {
  constructor(
    private readonly block: BlockToFill,
    private readonly controller: Controller,
    private readonly world: World,
    private readonly table: MotionPlayer,
  ) {}

  /** What the tick that is over put in and got out, with table and world as they were in it. */
  row(row: number, digital_outputs: number, z_steps: number): void {
    const { controller, world, table } = this;
    const { u8, u16, i16, i32, f32 } = this.block;
    const { integers, reals } = controller.output;
    u16[row] = controller.digital_inputs; // digital_inputs
    u16[1000 + row] = controller.readings[9]; // reading
    i16[row] = controller.x_steps; // x_steps
    i16[1000 + row] = controller.y_steps; // y_steps
    i16[2000 + row] = z_steps; // z_steps
    u8[row] = digital_outputs; // digital_outputs
    u8[1000 + row] = integers[2]; // mode
    u8[2000 + row] = integers[3]; // stage
    u8[3000 + row] = integers[4]; // hold
    u8[4000 + row] = integers[5]; // fault
    u8[5000 + row] = integers[6]; // refusal
    u8[6000 + row] = integers[17]; // flags
    i32[row] = integers[7]; // z
    f32[row] = reals[9]; // measured_V
    f32[1000 + row] = reals[10]; // target_V
    f32[2000 + row] = reals[11]; // measured_error_mm
    f32[3000 + row] = reals[12]; // z_velocity_mm_s
    f32[4000 + row] = reals[13]; // measured_feed_mm_s
    f32[5000 + row] = reals[14]; // slope_x
    f32[6000 + row] = reals[15]; // slope_y
    f32[7000 + row] = reals[16]; // feed_effect_V
    f32[8000 + row] = table.x_mm; // x_mm
    f32[9000 + row] = table.y_mm; // y_mm
    f32[10000 + row] = table.feed_mm_s; // feed_mm_s
    f32[11000 + row] = table.path_mm; // path_mm
    f32[12000 + row] = Math.min(table.corner_distance_mm, 1e6); // corner_mm
    i16[3000 + row] = table.contour; // contour
    i32[1000 + row] = table.line; // line
    u8[7000 + row] = table.state; // table_state
    f32[13000 + row] = world.standoff_mm; // standoff_mm
    f32[14000 + row] = world.plate_mm; // plate_mm
    f32[15000 + row] = world.torch_mm; // torch_mm
    f32[16000 + row] = world.true_V; // true_V
    u8[8000 + row] = world.arc_burning; // burning
    u8[9000 + row] = world.relay; // relay
    u8[10000 + row] = world.crossing; // crossing
    u8[11000 + row] = world.off_sheet; // off_sheet
    i32[2000 + row] = world.contacts; // contacts
    i32[3000 + row] = world.lost_steps; // lost_steps
  }
}

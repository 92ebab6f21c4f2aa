// Generated from the rows by `npm run generate`. Do not edit.

import { CELLS_END, arc, axis, firing, head, plate, table, wires } from '../../../world/module/cells.gen';

/** Where the recorded block stands, and the first byte behind it. */
export const BLOCK_AT: usize = CELLS_END;
export const FIXED_END: usize = CELLS_END + 120000;

@inline
function store8(at: usize, value: i32): void {
  store<u8>(at, <u8>value);
}
@inline
function store16(at: usize, value: i32): void {
  store<u16>(at, <u16>value);
}
@inline
function store32(at: usize, value: i32): void {
  store<i32>(at, value);
}
@inline
function storeReal(at: usize, value: f32): void {
  store<f32>(at, value);
}

/** What the tick that is over put in and got out, with table and world as they were in it. */
export function record(row: usize, input: usize, output: usize): void {
  store16(BLOCK_AT + 96000 + row * 2, load<i32>(input, 20)); // digital_inputs
  store16(BLOCK_AT + 98000 + row * 2, <i32>load<u16>(input, 18)); // reading
  store16(BLOCK_AT + 100000 + row * 2, load<i32>(input, 24)); // x_steps
  store16(BLOCK_AT + 102000 + row * 2, load<i32>(input, 28)); // y_steps
  store16(BLOCK_AT + 104000 + row * 2, load<i32>(output, 0)); // z_steps
  store8(BLOCK_AT + 108000 + row, load<i32>(output, 4)); // digital_outputs
  store8(BLOCK_AT + 109000 + row, load<i32>(output, 8)); // mode
  store8(BLOCK_AT + 110000 + row, load<i32>(output, 12)); // stage
  store8(BLOCK_AT + 111000 + row, load<i32>(output, 16)); // hold
  store8(BLOCK_AT + 112000 + row, load<i32>(output, 20)); // fault
  store8(BLOCK_AT + 113000 + row, load<i32>(output, 24)); // refusal
  store8(BLOCK_AT + 114000 + row, load<i32>(output, 68)); // flags
  store32(BLOCK_AT + 80000 + row * 4, load<i32>(output, 28)); // z
  storeReal(BLOCK_AT + 0 + row * 4, load<f32>(output, 36)); // measured_V
  storeReal(BLOCK_AT + 4000 + row * 4, load<f32>(output, 40)); // target_V
  storeReal(BLOCK_AT + 8000 + row * 4, load<f32>(output, 44)); // measured_error_mm
  storeReal(BLOCK_AT + 12000 + row * 4, load<f32>(output, 48)); // z_velocity_mm_s
  storeReal(BLOCK_AT + 16000 + row * 4, load<f32>(output, 52)); // measured_feed_mm_s
  storeReal(BLOCK_AT + 20000 + row * 4, load<f32>(output, 56)); // slope_x
  storeReal(BLOCK_AT + 24000 + row * 4, load<f32>(output, 60)); // slope_y
  storeReal(BLOCK_AT + 28000 + row * 4, load<f32>(output, 64)); // feed_effect_V
  storeReal(BLOCK_AT + 32000 + row * 4, load<f32>(output, 76)); // found_target_V
  storeReal(BLOCK_AT + 36000 + row * 4, load<f32>(output, 80)); // found_deviation_mm
  storeReal(BLOCK_AT + 40000 + row * 4, load<f32>(output, 84)); // proof_slope_V_per_mm
  storeReal(BLOCK_AT + 44000 + row * 4, <f32>table.x_mm); // x_mm
  storeReal(BLOCK_AT + 48000 + row * 4, <f32>table.y_mm); // y_mm
  storeReal(BLOCK_AT + 52000 + row * 4, <f32>table.feed_mm_s); // feed_mm_s
  storeReal(BLOCK_AT + 56000 + row * 4, <f32>table.path_mm); // path_mm
  storeReal(BLOCK_AT + 60000 + row * 4, <f32>min<f64>(table.corner_mm, 1e6)); // corner_mm
  store16(BLOCK_AT + 106000 + row * 2, <i32>table.contour); // contour
  store32(BLOCK_AT + 84000 + row * 4, <i32>table.line); // line
  store8(BLOCK_AT + 115000 + row, <i32>table.state); // table_state
  storeReal(BLOCK_AT + 64000 + row * 4, <f32>head.standoff_mm); // standoff_mm
  storeReal(BLOCK_AT + 68000 + row * 4, <f32>head.plate_mm); // plate_mm
  storeReal(BLOCK_AT + 72000 + row * 4, <f32>head.torch_mm); // torch_mm
  storeReal(BLOCK_AT + 76000 + row * 4, <f32>arc.true_V); // true_V
  store8(BLOCK_AT + 116000 + row, <i32>arc.burning); // burning
  store8(BLOCK_AT + 117000 + row, <i32>firing.relay); // relay
  store8(BLOCK_AT + 118000 + row, <i32>arc.crossing); // crossing
  store8(BLOCK_AT + 119000 + row, <i32>plate.off_sheet); // off_sheet
  store32(BLOCK_AT + 88000 + row * 4, <i32>wires.contacts); // contacts
  store32(BLOCK_AT + 92000 + row * 4, <i32>axis.lost_steps); // lost_steps
}

// The world module. It joins the world, the table and a controller: once a tick the controller gets what the world and the
// table show, and they get what the controller says. The world never sees more of the controller than its outputs, nor the
// controller more of the world than its inputs.

import { MODE_FAULT, MODE_REST } from '../../../../firmware/wire/codes.gen';
import {
  INPUT_BREAKAWAY,
  INPUT_DIGITAL,
  INPUT_OVERRUN,
  INPUT_READINGS,
  INPUT_REFERENCE,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_SUPPLY_CONTACT,
  INPUT_TOP,
  INPUT_TOUCH,
  INPUT_X_STEPS,
  INPUT_Y_STEPS,
  OUTPUT_DIGITAL,
  OUTPUT_LATCHED_STOP,
  OUTPUT_MODE,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
  OUTPUT_Z_STEPS,
} from '../../../../firmware/wire/layout.gen';
import { LAYOUT, loop, table, wires } from '../../../world/module/cells.gen';
import { STOPPED } from '../../../world/module/codes';
import { advancePlant, moveTo } from '../../../world/module/plant';
import { drawImpulse } from '../../../world/module/sensing';
import { enterStep } from '../../../world/module/step';
import { advanceTable } from '../../../world/module/table';
import { tick } from './control';
import { BLOCK_AT, FIXED_END, record } from './record.gen';

/** The motion controller has homed Z before the run: its top switch is seen for this long, ms. */
const HOMED_MS: i32 = 50;
/** The program starts this long after power-up, ms. */
const START_MS: i32 = 400;
/** After the end of the program the run goes on this long, so that the end is in the record, ms. */
const AFTER_MS: i32 = 300;

/** What host and module must agree on. */
export function layout(): i32 {
  return LAYOUT;
}
/** Where the recorded block stands. */
export function block(): usize {
  return BLOCK_AT;
}
/** First byte behind cells, arrays and the recorded block. */
export function fixed_end(): usize {
  return FIXED_END;
}
/** Takes up the first step of the plan. */
export function begin_table(): void {
  enterStep(0);
}
/** Draws the wait for the first impulse of the noise. */
export function draw_impulse(): void {
  drawImpulse();
}
/** The table alone, a tick of it. */
export function advance_table(motion_permit: i32, latched_stop: i32): void {
  advanceTable(motion_permit != 0, latched_stop != 0);
}
/** The world alone: where the table will be. */
export function move_to(x_mm: f64, y_mm: f64, feed_mm_s: f64, path_mm: f64, dx: f64, dy: f64): void {
  moveTo(x_mm, y_mm, feed_mm_s, path_mm, dx, dy);
}
/** The world alone, a tick of it. */
export function advance_plant(z_steps: i32, trigger: i32, z_owned: i32): void {
  advancePlant(z_steps, trigger, z_owned, <usize>loop.input_at + INPUT_READINGS);
}

/**
 * Runs and records ticks, until the run is over.
 * @param from_row first row of the block that is filled; @param to_row row before which it ends
 * @returns the row after the last tick
 */
export function run(from_row: i32, to_row: i32): i32 {
  let row = from_row;
  while (row < to_row && loop.finished == 0) step(row++);
  return row;
}

function bit(on: i32, line: i32): i32 {
  return on != 0 ? line : 0;
}

function step(row: i32): void {
  const input = <usize>loop.input_at;
  const output = <usize>loop.output_at;
  give(input);
  tick();
  const digital_outputs = load<i32>(output, OUTPUT_DIGITAL);
  record(<usize>row, input, output);

  if (loop.tick >= START_MS) {
    advanceTable((digital_outputs & OUTPUT_PERMIT) != 0, (digital_outputs & OUTPUT_LATCHED_STOP) != 0);
  }
  const feed_mm_s = table.feed_mm_s;
  loop.path_mm += feed_mm_s / 1000.0;
  const moving = feed_mm_s > 0;
  moveTo(table.x_mm, table.y_mm, feed_mm_s, loop.path_mm, moving ? table.dx : 0, moving ? table.dy : 0);
  const z_owned = i32((digital_outputs & OUTPUT_Z_OWNED) != 0);
  advancePlant(load<i32>(output, OUTPUT_Z_STEPS), digital_outputs & OUTPUT_TRIGGER, z_owned, input + INPUT_READINGS);
  loop.tick++;
  watchEnd(load<i32>(output, OUTPUT_MODE), digital_outputs);
}

/** Fills the input block but for the readings, which stand there already. */
function give(input: usize): void {
  const homed = i32(loop.tick < HOMED_MS);
  const digital_inputs =
    loop.operator_inputs |
    bit(table.torch_request & loop.request_through, INPUT_REQUEST) |
    bit(wires.top | homed, INPUT_TOP) |
    bit(wires.touch, INPUT_TOUCH) |
    bit(wires.breakaway, INPUT_BREAKAWAY) |
    bit(wires.contact, INPUT_SUPPLY_CONTACT) |
    bit(wires.late, INPUT_OVERRUN) |
    bit(wires.readback, INPUT_RELAY);
  store<i32>(input, digital_inputs, INPUT_DIGITAL);
  store<u16>(input, <u16>wires.reference, INPUT_REFERENCE);
  store<i32>(input, <i32>table.x_steps * wires.x_tap, INPUT_X_STEPS);
  store<i32>(input, <i32>table.y_steps * wires.y_tap, INPUT_Y_STEPS);
}

function watchEnd(mode: i32, digital_outputs: i32): void {
  const idle = (mode == MODE_REST || mode == MODE_FAULT) && (digital_outputs & OUTPUT_Z_OWNED) == 0;
  loop.after_ms = table.state >= STOPPED && idle ? loop.after_ms + 1 : 0;
  if (loop.after_ms > AFTER_MS || <f64>loop.tick >= loop.limit_ticks) loop.finished = 1;
}

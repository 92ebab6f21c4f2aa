import { layoutRow, placed } from '../../firmware/wire/link-rows.js';
import { placedOutputs } from '../../firmware/wire/tick-rows.js';
import type { ControllerOutput } from '../run/controller/index.js';

const { fields } = placed(layoutRow('telemetry'));
const at = (name: string): number => fields.find((field) => field.name === name)!.offset;

const AT_TICK = at('tick');
const AT_Z_STEPS = at('z_steps');
const AT_DIGITAL_OUTPUTS = at('digital_outputs');
const AT_CYCLES = at('cycles');

/** Telemetry field and place in the output block, of one type. */
const places = (type: string) =>
  placedOutputs()
    .rows.filter((row) => row.telemetry && !row.at_pins && row.type === type)
    .map(({ name, offset }) => [at(name), offset / 4] as const);
const U8 = places('u8');
const I32 = places('i32');
const F32 = places('f32');

/** The last row of telemetry. */
export class TelemetryRow {
  tick = -1;
  /** What the module asked for in that tick; the pins may say something else. */
  z_steps = 0;
  digital_outputs = 0;
  /** Length of the tick, processor cycles, to 4. */
  cycles = 0;
  /** Rows that never came, by the gaps in their numbers. */
  lost = 0;

  /** Takes a row; fills the fields of the output block that it carries. */
  take(payload: Uint8Array, output: ControllerOutput): void {
    const view = new DataView(payload.buffer, payload.byteOffset);
    const tick = view.getUint32(AT_TICK, true);
    if (this.tick >= 0 && tick > this.tick + 1) this.lost += tick - this.tick - 1;
    this.tick = tick;
    this.z_steps = view.getInt16(AT_Z_STEPS, true);
    this.digital_outputs = view.getUint8(AT_DIGITAL_OUTPUTS);
    this.cycles = 4 * view.getUint16(AT_CYCLES, true);
    const { integers, reals } = output;
    for (const [from, to] of U8) integers[to] = view.getUint8(from);
    for (const [from, to] of I32) integers[to] = view.getInt32(from, true);
    for (const [from, to] of F32) reals[to] = view.getFloat32(from, true);
  }
}

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
} from '../../firmware/wire/layout.js';
import { layoutRow, placed } from '../../firmware/wire/link-rows.js';
import type { ControllerOutput } from '../run/controller/index.js';

const { fields } = placed(layoutRow('telemetry'));
const at = (name: string): number => fields.find((field) => field.name === name)!.offset;

const AT_TICK = at('tick');
const AT_Z_STEPS = at('z_steps');
const AT_DIGITAL_OUTPUTS = at('digital_outputs');
const AT_CYCLES = at('cycles');

/** Telemetry field and place in the output block: small whole numbers, and reals. */
const SMALL = [
  [at('mode'), OUTPUT_MODE / 4],
  [at('stage'), OUTPUT_STAGE / 4],
  [at('hold'), OUTPUT_HOLD / 4],
  [at('fault'), OUTPUT_FAULT / 4],
  [at('refusal'), OUTPUT_REFUSAL / 4],
  [at('flags'), OUTPUT_FLAGS / 4],
] as const;
const REAL = [
  [at('measured_V'), OUTPUT_MEASURED_V / 4],
  [at('target_V'), OUTPUT_TARGET_V / 4],
  [at('measured_error_mm'), OUTPUT_MEASURED_ERROR_MM / 4],
  [at('z_velocity_mm_s'), OUTPUT_Z_VELOCITY_MM_S / 4],
  [at('measured_feed_mm_s'), OUTPUT_MEASURED_FEED_MM_S / 4],
  [at('slope_x'), OUTPUT_SLOPE_X / 4],
  [at('slope_y'), OUTPUT_SLOPE_Y / 4],
  [at('feed_effect_V'), OUTPUT_FEED_EFFECT_V / 4],
] as const;
const AT_Z = at('z');

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
    for (const [from, to] of SMALL) integers[to] = view.getUint8(from);
    for (const [from, to] of REAL) reals[to] = view.getFloat32(from, true);
    integers[OUTPUT_Z / 4] = view.getInt32(AT_Z, true);
  }
}

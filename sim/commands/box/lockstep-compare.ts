import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS, STAGE_ROWS } from '../../../firmware/wire/code-rows.js';
import * as wire from '../../../firmware/wire/layout.js';

interface Field {
  readonly name: string;
  readonly at: number;
  readonly type: 'i32' | 'f32' | 'bits';
  /** Names of the codes, where the number is one. */
  readonly codes?: readonly { readonly name: string }[];
}

/** The output block field by field, with words for its codes. */
const FIELDS: readonly Field[] = [
  { name: 'Z steps', at: wire.OUTPUT_Z_STEPS, type: 'i32' },
  { name: 'outputs', at: wire.OUTPUT_DIGITAL, type: 'bits' },
  { name: 'mode', at: wire.OUTPUT_MODE, type: 'i32', codes: MODE_ROWS },
  { name: 'stage', at: wire.OUTPUT_STAGE, type: 'i32', codes: STAGE_ROWS },
  { name: 'hold', at: wire.OUTPUT_HOLD, type: 'i32', codes: HOLD_ROWS },
  { name: 'fault', at: wire.OUTPUT_FAULT, type: 'i32', codes: FAULT_ROWS },
  { name: 'refusal', at: wire.OUTPUT_REFUSAL, type: 'i32', codes: REFUSAL_ROWS },
  { name: 'Z, steps', at: wire.OUTPUT_Z, type: 'i32' },
  { name: 'reading of the fault, V', at: wire.OUTPUT_FAULT_READING_V, type: 'f32' },
  { name: 'arc voltage, V', at: wire.OUTPUT_MEASURED_V, type: 'f32' },
  { name: 'target, V', at: wire.OUTPUT_TARGET_V, type: 'f32' },
  { name: 'standoff error, mm', at: wire.OUTPUT_MEASURED_ERROR_MM, type: 'f32' },
  { name: 'Z velocity, mm/s', at: wire.OUTPUT_Z_VELOCITY_MM_S, type: 'f32' },
  { name: 'feed, mm/s', at: wire.OUTPUT_MEASURED_FEED_MM_S, type: 'f32' },
  { name: 'slope along X', at: wire.OUTPUT_SLOPE_X, type: 'f32' },
  { name: 'slope along Y', at: wire.OUTPUT_SLOPE_Y, type: 'f32' },
  { name: 'feed effect, V', at: wire.OUTPUT_FEED_EFFECT_V, type: 'f32' },
  { name: 'flags', at: wire.OUTPUT_FLAGS, type: 'bits' },
  { name: 'mean of the tick, V', at: wire.OUTPUT_TICK_V, type: 'f32' },
];

/** Where box and desk part. */
export interface Difference {
  /** Tick of the block that was compared, from 0. */
  readonly tick: number;
  readonly field: string;
  readonly box: string;
  readonly desk: string;
}

/** The first difference between output blocks of the same ticks, byte for byte; undefined when there is none. */
export function firstDifference(box: Uint8Array, desk: Uint8Array): Difference | undefined {
  const bytes = Math.min(box.length, desk.length);
  let at = 0;
  while (at < bytes && box[at] === desk[at]) at++;
  if (at === bytes) {
    if (box.length === desk.length) return undefined;
    const ticks = (length: number) => `${length / wire.OUTPUT_BYTES} ticks`;
    return { tick: at / wire.OUTPUT_BYTES, field: 'answer', box: ticks(box.length), desk: ticks(desk.length) };
  }
  const tick = Math.floor(at / wire.OUTPUT_BYTES);
  const place = at - tick * wire.OUTPUT_BYTES;
  const field = FIELDS.find((candidate) => place >= candidate.at && place < candidate.at + 4);
  const name = field?.name ?? `byte ${place} of the output block`;
  const value = (block: Uint8Array) => (field ? valueText(block, at - place, field) : `${block[at]}`);
  return { tick, field: name, box: value(box), desk: value(desk) };
}

function valueText(block: Uint8Array, from: number, { at, type, codes }: Field): string {
  const view = new DataView(block.buffer, block.byteOffset + from + at, 4);
  const bits = view.getUint32(0, true);
  if (type === 'bits') return `0x${bits.toString(16)}`;
  if (type === 'i32') {
    const code = view.getInt32(0, true);
    return codes?.[code] ? `${code} (${codes[code].name})` : `${code}`;
  }
  // The bits as well: two reals may differ and yet print alike.
  return `${Math.fround(view.getFloat32(0, true))} (0x${bits.toString(16).padStart(8, '0')})`;
}

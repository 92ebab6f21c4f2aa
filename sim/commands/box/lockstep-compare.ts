import {
  type CodeRow,
  FAULT_ROWS,
  HOLD_ROWS,
  MODE_ROWS,
  REFUSAL_ROWS,
  STAGE_ROWS,
} from '../../../firmware/wire/code-rows.js';
import { OUTPUT_BYTES } from '../../../firmware/wire/layout.gen.js';
import { placedOutputs } from '../../../firmware/wire/tick-rows.js';

/** Names of the codes, for the outputs that are codes. */
const CODES: Readonly<Record<string, readonly CodeRow[]>> = {
  mode: MODE_ROWS,
  stage: STAGE_ROWS,
  hold: HOLD_ROWS,
  fault: FAULT_ROWS,
  refusal: REFUSAL_ROWS,
};
const FIELDS = placedOutputs().rows;
type Field = (typeof FIELDS)[number];

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
    const ticks = (length: number) => `${length / OUTPUT_BYTES} ticks`;
    return { tick: at / OUTPUT_BYTES, field: 'answer', box: ticks(box.length), desk: ticks(desk.length) };
  }
  const tick = Math.floor(at / OUTPUT_BYTES);
  const place = at - tick * OUTPUT_BYTES;
  const field = FIELDS.find((candidate) => place >= candidate.offset && place < candidate.offset + 4);
  const name = field?.name ?? `byte ${place} of the output block`;
  const value = (block: Uint8Array) => (field ? valueText(block, at - place, field) : `${block[at]}`);
  return { tick, field: name, box: value(box), desk: value(desk) };
}

function valueText(block: Uint8Array, from: number, { offset, name, type, unit }: Field): string {
  const view = new DataView(block.buffer, block.byteOffset + from + offset, 4);
  const bits = view.getUint32(0, true);
  if (unit === 'bits') return `0x${bits.toString(16)}`;
  if (type !== 'f32') {
    const code = view.getInt32(0, true);
    const row = CODES[name]?.[code];
    return row ? `${code} (${row.name})` : `${code}`;
  }
  // The bits as well: two reals may differ and yet print alike.
  return `${Math.fround(view.getFloat32(0, true))} (0x${bits.toString(16).padStart(8, '0')})`;
}

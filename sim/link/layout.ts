import { type FieldRow, type LayoutRow, layoutRow, placed } from '../../firmware/wire/link-rows.js';

/** A value of a payload: a number, a list of them, a text, or bytes. */
export type Value = number | readonly number[] | string | Uint8Array;
/** The fields of a payload by name. */
export type Values = Readonly<Record<string, Value>>;

/** A layout with sizes and offsets of its fields. */
interface Ready {
  readonly fields: readonly (FieldRow & { readonly offset: number })[];
  readonly bytes: number;
  readonly repeats: string;
}

const READY = new Map<string, Ready>();

function ready(name: string): Ready {
  let found = READY.get(name);
  if (found === undefined) {
    const row: LayoutRow = layoutRow(name);
    found = { ...placed(row), repeats: row.repeats };
    if (row.fields.length === 0) found = { ...found, bytes: 0 };
    READY.set(name, found);
  }
  return found;
}

/** Bytes of a layout without its repeated records. */
export const layoutBytes = (name: string): number => ready(name).bytes;

/** Repeated records of a payload: their values, or their bytes as they go on the line. */
export type Records = readonly Values[] | Uint8Array;

/**
 * Encodes values as a payload; fields that are not given are 0.
 * @param records the repeated records, if the layout has them
 */
export function encodeLayout(name: string, values: Values = {}, records: Records = []): Uint8Array {
  const { fields, bytes, repeats } = ready(name);
  const each = repeats === '' ? 0 : layoutBytes(repeats);
  const raw = records instanceof Uint8Array;
  const payload = new Uint8Array(bytes + (raw ? records.length : each * records.length));
  const view = new DataView(payload.buffer);
  for (const field of fields) {
    const value = values[field.name];
    if (value !== undefined) put(view, payload, field, value);
  }
  if (raw) payload.set(records, bytes);
  else
    records.forEach((record, index) => {
      payload.set(encodeLayout(repeats, record), bytes + each * index);
    });
  return payload;
}

/**
 * Decodes a payload.
 * @returns undefined when the payload does not have the layout's length (head and whole records)
 */
export function decodeLayout(
  name: string,
  payload: Uint8Array,
): { readonly values: Values; readonly records: readonly Values[] } | undefined {
  const { fields, bytes, repeats } = ready(name);
  const each = repeats === '' ? 0 : layoutBytes(repeats);
  const rest = payload.length - bytes;
  if (rest < 0 || (each === 0 ? rest !== 0 : rest % each !== 0)) return undefined;
  const view = new DataView(payload.buffer, payload.byteOffset, payload.length);
  const values = Object.fromEntries(fields.map((field) => [field.name, get(view, payload, field)]));
  const records: Values[] = [];
  for (let at = bytes; at < payload.length; at += each) {
    records.push(decodeLayout(repeats, payload.subarray(at, at + each))!.values);
  }
  return { values, records };
}

type Placed = FieldRow & { readonly offset: number };

function put(view: DataView, payload: Uint8Array, { type, count, offset, name }: Placed, value: Value): void {
  if (type === 'text') {
    const text = Buffer.from(String(value), 'latin1').subarray(0, count);
    payload.set(text, offset);
    return;
  }
  if (type === 'bytes') {
    if (!(value instanceof Uint8Array) || value.length !== count) throw new RangeError(`${name} wants ${count} bytes`);
    payload.set(value, offset);
    return;
  }
  const list = typeof value === 'number' ? [value] : (value as readonly number[]);
  list.slice(0, count).forEach((number, index) => {
    WRITE[type](view, offset + SIZE[type] * index, number);
  });
}

function get(view: DataView, payload: Uint8Array, { type, count, offset }: Placed): Value {
  if (type === 'bytes') return payload.slice(offset, offset + count);
  if (type === 'text') {
    const bytes = payload.subarray(offset, offset + count);
    const end = bytes.indexOf(0);
    return Buffer.from(end < 0 ? bytes : bytes.subarray(0, end)).toString('latin1');
  }
  if (count === 1) return READ[type](view, offset);
  return Array.from({ length: count }, (_, index) => READ[type](view, offset + SIZE[type] * index));
}

type NumberType = Exclude<FieldRow['type'], 'bytes' | 'text'>;
const SIZE: Readonly<Record<NumberType, number>> = { u8: 1, u16: 2, u32: 4, i16: 2, i32: 4, f32: 4 };
const READ: Readonly<Record<NumberType, (view: DataView, at: number) => number>> = {
  u8: (view, at) => view.getUint8(at),
  u16: (view, at) => view.getUint16(at, true),
  u32: (view, at) => view.getUint32(at, true),
  i16: (view, at) => view.getInt16(at, true),
  i32: (view, at) => view.getInt32(at, true),
  f32: (view, at) => view.getFloat32(at, true),
};
const WRITE: Readonly<Record<NumberType, (view: DataView, at: number, value: number) => void>> = {
  u8: (view, at, value) => view.setUint8(at, value),
  u16: (view, at, value) => view.setUint16(at, value, true),
  u32: (view, at, value) => view.setUint32(at, value, true),
  i16: (view, at, value) => view.setInt16(at, value, true),
  i32: (view, at, value) => view.setInt32(at, value, true),
  f32: (view, at, value) => view.setFloat32(at, value, true),
};

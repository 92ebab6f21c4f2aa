/**
 * Bytes of WebAssembly code. The names are those of the instructions in the WebAssembly core specification 2.0, section
 * 5.4.
 */
export type Code = readonly number[];

export const unsigned = (value: number): Code =>
  value < 128 ? [value] : [(value & 127) | 128, ...unsigned(Math.floor(value / 128))];

function signed(value: number): Code {
  const rest = value >> 7;
  const low = value & 127;
  const ends = (rest === 0 && (low & 64) === 0) || (rest === -1 && (low & 64) !== 0);
  return ends ? [low] : [low | 128, ...signed(rest)];
}

/** Little-endian bytes of a 32-bit real. */
const real = (value: number): Code => [...new Uint8Array(Float32Array.of(value).buffer)];

/** Several pieces of code, one after the other. */
export const all = (...codes: readonly Code[]): Code => codes.flat();

export const i32 = (value: number): Code => [0x41, ...signed(value | 0)];
export const f32 = (value: number): Code => [0x43, ...real(value)];
export const get = (local: number): Code => [0x20, ...unsigned(local)];
export const set = (local: number, value: Code): Code => [...value, 0x21, ...unsigned(local)];
export const call = (fn: number): Code => [0x10, ...unsigned(fn)];

const binary =
  (opcode: number) =>
  (a: Code, b: Code): Code => [...a, ...b, opcode];
export const eq = binary(0x46);
export const ne = binary(0x47);
export const less = binary(0x48);
export const greater = binary(0x4a);
export const atLeast = binary(0x4e);
export const add = binary(0x6a);
export const subtract = binary(0x6b);
export const multiply = binary(0x6c);
export const and = binary(0x71);
export const or = binary(0x72);
export const xor = binary(0x73);
export const shiftLeft = binary(0x74);
export const shiftRight = binary(0x76);
export const differLong = binary(0x52);
export const orLong = binary(0x84);
export const realLess = binary(0x5d);
export const realAtMost = binary(0x5f);
export const realAtLeast = binary(0x60);
export const absolute = (value: Code): Code => [...value, 0x8b];
export const long = (value: Code): Code => [...value, 0xad];
export const shiftLeftLong = (value: Code, bits: number): Code => [...value, 0x42, ...signed(bits), 0x86];
/** `a` when the condition is not 0, else `b`; both are evaluated. */
export const choose = (condition: Code, a: Code, b: Code): Code => [...a, ...b, ...condition, 0x1b];

const at = (opcode: Code, align: number, address: Code, offset: number): Code => [
  ...address,
  ...opcode,
  align,
  ...unsigned(offset),
];
export const load = (address: Code, offset = 0): Code => at([0x28], 2, address, offset);
export const loadReal = (address: Code, offset = 0): Code => at([0x2a], 2, address, offset);
export const loadLong = (address: Code, offset = 0): Code => at([0x29], 3, address, offset);
const zero = i32(0);
/** A word at a place that is known now. */
export const word = (address: number): Code => load(zero, address);
export const put = (address: Code, value: Code, offset = 0): Code => [
  ...address,
  ...value,
  0x36,
  2,
  ...unsigned(offset),
];
export const putLong = (address: Code, value: Code): Code => [...address, ...value, 0x37, 3, 0];
export const putWord = (address: number, value: Code): Code => put(zero, value, address);

/** Copies a block of a known length, a multiple of 16 bytes, to a place that is known now. */
export function copy(to: number, from: Code, bytes: number, offset = 0): Code {
  const code: number[] = [];
  for (let done = 0; done < bytes; done += 16) {
    const taken = at([0xfd, 0x00], 4, from, offset + done);
    code.push(...zero, ...taken, 0xfd, 0x0b, 4, ...unsigned(to + done));
  }
  return code;
}

/** Goes round as long as the condition at its beginning is not 0. */
export const during = (condition: Code, body: Code): Code => [
  ...[0x02, 0x40, 0x03, 0x40],
  ...[...condition, 0x45, 0x0d, 1],
  ...body,
  ...[0x0c, 0, 0x0b, 0x0b],
];
export const when = (condition: Code, body: Code): Code => [...condition, 0x04, 0x40, ...body, 0x0b];

const section = (id: number, content: Code): Code => [id, ...unsigned(content.length), ...content];
const text = (name: string): Code => [...unsigned(name.length), ...new TextEncoder().encode(name)];
const I32 = 0x7f;
const I64 = 0x7e;

/**
 * A module that imports `control.memory` of one page and `control.tick`, function 0, and exports `run`, which takes and
 * gives numbers of 32 bits.
 */
export function moduleOf(parameters: number, words: number, longs: number, body: Code): Uint8Array<ArrayBuffer> {
  const types = [2, 0x60, 0, 0, 0x60, parameters, ...new Array<number>(parameters).fill(I32), 1, I32];
  const imports = [
    ...[2, ...text('control'), ...text('memory'), 2, 1, 1, 1],
    ...[...text('control'), ...text('tick'), 0, 0],
  ];
  const locals = [2, words, I32, longs, I64];
  const code = [...locals, ...body, 0x0b];
  return Uint8Array.from([
    ...[0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
    ...section(1, types),
    ...section(2, imports),
    ...section(3, [1, 1]),
    ...section(7, [1, ...text('run'), 0, 1]),
    ...section(10, [1, ...unsigned(code.length), ...code]),
  ]);
}

/** What a PC asks a new device, in its order, and what it demands of the answers (USB 2.0, chapter 9; CDC 1.2). */
import type { ControlRequest } from './pipes.js';

/** What a script has the host do next; a request gives bytes, or 'stall'. */
export type Step =
  | { readonly wait_ns: number }
  | { readonly reset_ns: number }
  | { readonly address: number }
  | { readonly control: ControlRequest };
export type Script<T> = Generator<Step, T, Uint8Array | 'stall'>;

/** A serial port as the PC has found it. */
export interface UsbDevice {
  readonly vendor: number;
  readonly product: number;
  readonly manufacturer: string;
  readonly product_text: string;
  readonly serial: string;
  /** Numbers of its endpoints. */
  readonly notices: number;
  readonly to_pc: number;
  readonly from_pc: number;
}

const MS_ns = 1e6;
/** Contact bounce, reset, recovery, and time to take on an address (USB 2.0, 7.1.7.3, 7.1.7.5, 9.2.6.3). */
const BOUNCE_ns = 100 * MS_ns;
const RESET_ns = 50 * MS_ns;
const RECOVERY_ns = 10 * MS_ns;
const ADDRESS_ns = 2 * MS_ns;

const DEVICE = 1;
const CONFIGURATION = 2;
const STRING = 3;
const QUALIFIER = 6;
const ENGLISH = 0x409;
const LINE_CODING = Uint8Array.of(0x00, 0xc2, 0x01, 0x00, 0, 0, 8);
const DTR_AND_RTS = 3;

/** The device is not what it should be; the PC would show it as unknown. */
export class Unusable extends Error {}
function demand(holds: boolean, what: string): asserts holds {
  if (!holds) throw new Unusable(what);
}

const get = (type: number, value: number, index: number, length: number, broken_off = false): Step => ({
  control: { type: 0x80 | type, request: 6, value, index, length, broken_off },
});

function* descriptor(kind: number, number: number, index: number, length: number): Script<Uint8Array> {
  const bytes = yield get(0, (kind << 8) | number, index, length);
  demand(bytes !== 'stall', `descriptor ${kind}.${number} is refused`);
  demand(bytes.length >= 2 && bytes[1] === kind, `descriptor ${kind}.${number} is of another kind`);
  return bytes;
}

function* text(number: number): Script<string> {
  const bytes = yield* descriptor(STRING, number, ENGLISH, 255);
  demand(bytes.length === bytes[0] && bytes.length % 2 === 0, `string ${number} has a wrong length`);
  return Buffer.from(bytes.subarray(2)).toString('utf16le');
}

function* accepted(control: ControlRequest, what: string): Script<void> {
  demand((yield { control }) !== 'stall', `${what} is refused`);
}

/** @throws Unusable when the device is not a serial port that a PC would take */
export function* enumerate(address: number): Script<UsbDevice> {
  yield { wait_ns: BOUNCE_ns };
  yield { reset_ns: RESET_ns };
  yield { wait_ns: RECOVERY_ns };
  const first = yield get(0, DEVICE << 8, 0, 64, true);
  demand(first !== 'stall' && first.length >= 8 && first[7] === 64, 'the first packet does not say its size');
  yield { reset_ns: RESET_ns };
  yield { wait_ns: RECOVERY_ns };
  yield* accepted({ type: 0, request: 5, value: address, index: 0 }, 'the address');
  yield { address };
  yield { wait_ns: ADDRESS_ns };
  const device = yield* descriptor(DEVICE, 0, 0, 18);
  demand(device.length === 18 && device[0] === 18 && device[17] === 1, 'the device descriptor is not whole');
  // A device that knows no high speed refuses this (9.6.2).
  demand((yield get(0, QUALIFIER << 8, 0, 10)) === 'stall', 'a full-speed device has a qualifier');
  const head = yield* descriptor(CONFIGURATION, 0, 0, 9);
  const total = head[2] + 256 * head[3];
  const all = yield* descriptor(CONFIGURATION, 0, 0, total);
  demand(all.length === total, `the configuration has ${all.length} of ${total} bytes`);
  const ends = serialPort(device, all);
  const languages = yield* descriptor(STRING, 0, 0, 255);
  demand(languages[2] + 256 * languages[3] === ENGLISH, 'there are no English strings');
  const manufacturer = yield* text(device[14]);
  const product_text = yield* text(device[15]);
  const serial = yield* text(device[16]);
  yield* accepted({ type: 0, request: 9, value: all[5], index: 0 }, 'the configuration');
  const status = yield { control: { type: 0x80, request: 0, value: 0, index: 0, length: 2 } };
  demand(status !== 'stall' && status.length === 2, 'the status is not two bytes');
  const [vendor, product] = [device[8] + 256 * device[9], device[10] + 256 * device[11]];
  return { vendor, product, manufacturer, product_text, serial, ...ends };
}

/** The program opens the port, or closes it: line coding as set and read back, then DTR and RTS. */
export function* openPort(): Script<void> {
  yield* accepted({ type: 0x21, request: 0x20, value: 0, index: 0, data: LINE_CODING }, 'the line coding');
  const coding = yield { control: { type: 0xa1, request: 0x21, value: 0, index: 0, length: 7 } };
  demand(coding !== 'stall' && Buffer.compare(coding, LINE_CODING) === 0, 'the line coding is not what was set');
  yield* accepted({ type: 0x21, request: 0x22, value: DTR_AND_RTS, index: 0 }, 'the line state');
}
export function* closePort(): Script<void> {
  yield* accepted({ type: 0x21, request: 0x22, value: 0, index: 0 }, 'the line state');
}

/** Reads a configuration as the PC's driver for serial ports does. @throws Unusable */
function serialPort(device: Uint8Array, all: Uint8Array) {
  demand(device[4] === 0xef && device[5] === 2 && device[6] === 1, 'its functions are not grouped');
  const parts: Uint8Array[] = [];
  for (let at = 0; at < all.length; at += all[at]) {
    demand(all[at] >= 2 && at + all[at] <= all.length, `the configuration has a broken part at ${at}`);
    parts.push(all.subarray(at, at + all[at]));
  }
  const of = (kind: number) => parts.filter((part) => part[1] === kind);
  demand(all[4] === of(4).length, 'the number of interfaces is wrong');
  const group = of(11)[0];
  demand(group?.[2] === 0 && group[3] === 2 && group[4] === 2 && group[5] === 2, 'no group of two interfaces');
  const [control, data] = of(4);
  demand(control?.[5] === 2 && control[6] === 2 && data?.[5] === 10, 'the interfaces are not of a serial port');
  const functional = of(0x24).map((part) => part[2]);
  demand(
    [0, 1, 2, 6].every((kind) => functional.includes(kind)),
    'a functional descriptor is missing',
  );
  const ends = of(5).map((part) => ({ at: part[2], kind: part[3], most: part[4] + 256 * part[5] }));
  const find = (kind: number, to_pc: boolean) => ends.find((end) => end.kind === kind && end.at >= 128 === to_pc);
  const notices = find(3, true);
  const to_pc = find(2, true);
  const from_pc = find(2, false);
  demand(notices !== undefined && to_pc?.most === 64 && from_pc?.most === 64, 'an endpoint is missing');
  return { notices: notices.at & 15, to_pc: to_pc.at & 15, from_pc: from_pc.at & 15 };
}

/**
 * Power cut at every flash operation of an update, with the loader as shipped and the real requests over the emulated
 * line. A power cut leaves nothing behind but the flash: so one update is run, and what the chip holds half-way through
 * and after each of its operations is given to a board that is then switched on.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { EmulatedBoard, type FlashOperation, halfDone, installImage } from '../../sim/emulator/index.js';
import { amount } from '../support/volume.js';
import { board, loadLoader, sleepingImage, started } from './images.js';
import { enterLoader, update } from './updating.js';

/** About as long as the box's image. */
const OLDER = sleepingImage(47_000, 1);
const OLD = sleepingImage(48_000, 2);
const NEW = sleepingImage(47_776, 3);
/** Where the processor sees the flash (RP2040 datasheet 2.2). */
const FLASH_AT = 0x10000000;
const FLASH_BYTES = board('FLASH_BYTES');
const BLOCK_BYTES = board('BOOT_BLOCK_BYTES');
const READ_COMMAND = 0x03;
const SLOT_0_AT = board('SLOT_0_AT');
const SLOT_1_AT = board('SLOT_1_AT');
const SHAPES = amount(30, 4);

let emulated: EmulatedBoard;
let before: Uint8Array;
const operations: FlashOperation[] = [];

beforeAll(async () => {
  emulated = await EmulatedBoard.create({ loader: loadLoader(), image: OLD });
  installImage(emulated.flash, OLD, 0, 5);
  installImage(emulated.flash, OLDER, 1, 4);
  before = emulated.flash.slice();
  emulated.chip.flash.onOperation = (operation) => operations.push(operation);
  const link = enterLoader(emulated);
  expect(update(emulated, link, NEW)).toBe(0);
});

/** The places that a boot read, what stood there, and what came of it. */
interface Boot {
  readonly places: Int32Array;
  readonly bytes: Uint8Array;
  readonly image: ReturnType<typeof started>;
}
const booted: Boot[] = [];

/** Calls back for every byte of the flash that the chip reads, until the function returned is called. */
function watchReads(onRead: (at: number) => void): () => void {
  const { bus, flash } = emulated.chip;
  const [fetch, read, exchange] = [bus.fetch.bind(bus), bus.read.bind(bus), flash.exchange.bind(flash)];
  const note = (address: number, bytes: number) => {
    for (let n = 0; n < bytes && address >>> 26 === FLASH_AT >>> 26; n++) onRead((address + n) % FLASH_BYTES);
  };
  bus.fetch = (address) => {
    note(address, 2);
    return fetch(address);
  };
  bus.read = (address, bytes) => {
    note(address, bytes);
    return read(address, bytes);
  };
  flash.exchange = (byte) => {
    // A read by command, not by address, may be of any byte: no boot does it.
    if (byte === READ_COMMAND) note(FLASH_AT, FLASH_BYTES);
    return exchange(byte);
  };
  return () => {
    Object.assign(bus, { fetch, read });
    flash.exchange = exchange;
  };
}

/** What a board with this flash boots, really. */
function bootNow(flash: Uint8Array): Boot {
  const marks = new Uint8Array(FLASH_BYTES);
  // The boot ROM reads its block, and is not emulated.
  marks.fill(1, 0, BLOCK_BYTES);
  emulated.flash.set(flash);
  const stop = watchReads((at) => {
    marks[at] = 1;
  });
  emulated.powerUp();
  const image = started(emulated, [OLD, NEW]);
  stop();
  const places = new Int32Array(FLASH_BYTES);
  let count = 0;
  for (let at = marks.indexOf(1); at >= 0; at = marks.indexOf(1, at + 1)) places[count++] = at;
  const read = places.slice(0, count);
  return { places: read, bytes: Uint8Array.from(read, (at) => flash[at]), image };
}

/**
 * What a board with this flash boots. That depends on the bytes alone that the boot reads: a flash that differs from one that was
 * booted only in others is not booted again. Most of an update writes what no boot reads, for the head of its slot is erased.
 */
function boot(flash: Uint8Array): Boot['image'] {
  const known = booted.find(({ places, bytes }) => places.every((at, index) => flash[at] === bytes[index]));
  if (known !== undefined) return known.image;
  const fresh = bootNow(flash);
  booted.push(fresh);
  return fresh.image;
}

describe('an update that loses its power', () => {
  it('writes the slot that does not run, its head first erased and last programmed', () => {
    expect(operations.every(({ at }) => at >= SLOT_1_AT)).toBe(true);
    expect(operations[0]).toMatchObject({ kind: 'erase', at: SLOT_1_AT });
    expect(operations.at(-1)).toMatchObject({ kind: 'program', at: SLOT_1_AT });
    // One block, 187 pages of the body, the head.
    expect(operations.length).toBe(1 + 187 + 1);
    expect(emulated.problems.text()).toBe('');
  });

  it('boots the old image from before its first operation to half-way through the last, and the new one after it', () => {
    const flash = before.slice();
    expect(boot(flash)).toBe(OLD);
    for (const operation of operations) {
      const half = flash.slice();
      half.set(halfDone(operation), operation.at);
      const what = `${operation.kind} ${operation.number}`;
      const last = operation === operations.at(-1);
      expect(boot(half), `half-way through ${what}`).toBe(OLD);
      flash.set(operation.after, operation.at);
      expect(boot(flash), `after ${what}`).toBe(last ? NEW : OLD);
    }
    // Before the first, half-way through it, after the last; the rest of them is the same to the loader.
    expect(booted.length).toBeGreaterThanOrEqual(3);
  });

  it('boots what was concluded from what other boots read', () => {
    const flash = before.slice();
    for (const [at, operation] of operations.entries()) {
      if (at % amount(20, 100) === 7) expect(bootNow(flash).image, `before ${operation.number}`).toBe(boot(flash));
      flash.set(operation.after, operation.at);
    }
  });

  it('boots the old image whatever is left of the head page, while it is erased and while it is programmed', () => {
    const flash = before.slice();
    let looked_at = 0;
    for (const operation of operations) {
      if (operation.at === SLOT_1_AT) {
        looked_at++;
        for (let shape = 0; shape < SHAPES; shape++) {
          const half = flash.slice();
          half.set(halfDone({ ...operation, number: shape }), operation.at);
          expect(boot(half), `${operation.kind}, shape ${shape}`).toBe(OLD);
        }
      }
      flash.set(operation.after, operation.at);
    }
    expect(looked_at).toBe(2);
  });

  it('is left by a real cut as computed, and can be run again afterwards', () => {
    for (const number of amount([0, 7, 100, operations.length - 1], [100])) {
      emulated.flash.set(before);
      const link = enterLoader(emulated);
      const { flash } = emulated.chip;
      const operation = flash.operations + number;
      flash.cut = { operation, moment: 'half-way' };
      expect(update(emulated, link, NEW)).toBe(-1);
      flash.cut = undefined;
      expect(emulated.dead).toBe(true);
      const expected = before.slice();
      for (const done of operations.slice(0, number)) expected.set(done.after, done.at);
      expected.set(halfDone({ ...operations[number], number: operation }), operations[number].at);
      expect(Buffer.compare(emulated.flash, expected)).toBe(0);
      expect(update(emulated, enterLoader(emulated), NEW)).toBe(0);
      emulated.powerUp();
      expect(started(emulated, [OLD, NEW])).toBe(NEW);
      expect(emulated.flash.subarray(SLOT_0_AT, SLOT_1_AT)).toEqual(before.subarray(SLOT_0_AT, SLOT_1_AT));
    }
  });
});

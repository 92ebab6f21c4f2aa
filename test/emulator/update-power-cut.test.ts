/**
 * Power cut at every flash operation of an update, with the loader as shipped and the real requests over the emulated
 * line. A power cut leaves nothing behind but the flash: so one update is run, and what the chip holds half-way through
 * and after each of its operations is given to a board that is then switched on.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { EmulatedBoard, type FlashOperation, halfDone, installImage } from '../../sim/emulator/index.js';
import { amount, someOf } from '../support/volume.js';
import { board, loadLoader, sleepingImage, started } from './images.js';
import { enterLoader, update } from './updating.js';

/** About as long as the box's image. */
const OLDER = sleepingImage(47_000, 1);
const OLD = sleepingImage(48_000, 2);
const NEW = sleepingImage(47_776, 3);
const SLOT_0_AT = board('SLOT_0_AT');
const SLOT_1_AT = board('SLOT_1_AT');
/** Of 200 operations all, in a plain run one of so many, and the last. */
const EVERY = amount(1, 17);
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

const boot = (flash: Uint8Array) => {
  emulated.flash.set(flash);
  emulated.powerUp();
  return started(emulated, [OLD, NEW]);
};

describe('an update that loses its power', () => {
  it('writes the slot that does not run, its head first erased and last programmed', () => {
    expect(operations.every(({ at }) => at >= SLOT_1_AT)).toBe(true);
    expect(operations[0]).toMatchObject({ kind: 'erase', at: SLOT_1_AT });
    expect(operations.at(-1)).toMatchObject({ kind: 'program', at: SLOT_1_AT });
    // 12 sectors, 187 pages of the body, the head.
    expect(operations.length).toBe(12 + 187 + 1);
    expect(emulated.problems.text()).toBe('');
  });

  it('boots the old image from before its first operation to half-way through the last, and the new one after it', () => {
    const flash = before.slice();
    expect(boot(flash)).toBe(OLD);
    let boots = 1;
    const tried = someOf(operations, EVERY);
    for (const operation of operations) {
      if (!tried.includes(operation)) {
        flash.set(operation.after, operation.at);
        continue;
      }
      const half = flash.slice();
      half.set(halfDone(operation), operation.at);
      const what = `${operation.kind} ${operation.number}`;
      const last = operation === operations.at(-1);
      expect(boot(half), `half-way through ${what}`).toBe(OLD);
      flash.set(operation.after, operation.at);
      expect(boot(flash), `after ${what}`).toBe(last ? NEW : OLD);
      boots += 2;
    }
    expect(boots).toBe(1 + 2 * tried.length);
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

/**
 * Power cut at every flash operation of a parameter commit, with the shipped image and the real requests: afterwards the
 * box runs with the old values or with the new ones, never with some of each. As in update-power-cut, a cut is the flash
 * as it stands half-way through and after an operation, given to a board that is switched on.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { PARAMETER_COUNT } from '../../firmware/wire/codes.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { EmulatedBoard, type FlashOperation, halfDone, LinkPort } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { amount } from '../support/volume.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader, board as number } from './images.js';
import { statusName } from './updating.js';

const KEPT_AT = number('KEPT_AT');
const SECTOR = number('SECTOR_BYTES');
const PER_FRAME = 32;
/** Parameters that are free to change without a contradiction, first and last of the table among them. */
const CHANGED = ['cut_height_mm', 'pierce_ms', 'gain_p_per_s', 'smoothing_ms', 'feed_filter_ms'] as const;
const ids = CHANGED.map((name) => PARAMETER_ROWS.find((row) => row.name === name)!.id);

let emulated: EmulatedBoard;
let link: LinkPort;

function switchOn(): void {
  emulated.powerUp();
  link = new LinkPort(emulated);
  emulated.pins.setLines(RESTING);
  const ticks = emulated.tick.count;
  expect(emulated.runUntil(() => emulated.tick.count > ticks + 3, 1e9)).toBe(true);
}

function values(): number[] {
  const found: number[] = [];
  for (let first = 0; first < PARAMETER_COUNT; first += PER_FRAME) {
    const answer = link.ask('parameters-read', encodeLayout('span', { first, count: PER_FRAME }));
    for (const { value } of decodeLayout('values', answer.payload)!.records) found.push(value as number);
  }
  expect(found.length).toBe(PARAMETER_COUNT);
  return found;
}

const generation = (): number =>
  decodeLayout('identity', link.ask('identity').payload)!.values.parameter_generation as number;

/** Changes every parameter of CHANGED by a little, and commits. @returns the status's name, '' when nothing came */
function commit(share: number): string {
  const before = values();
  const records = ids.map((id) => ({ id, value: before[id] * share }));
  const staged = link.ask('parameters-stage', encodeLayout('values', {}, records));
  expect(statusName(staged.status)).toBe('done');
  const answer = link.try('parameters-commit', undefined, 2e9);
  return answer === undefined ? '' : statusName(answer.status);
}

/** What one commit makes of this flash: its operations. */
function recorded(share: number): { before: Uint8Array; operations: FlashOperation[]; from: number[]; to: number[] } {
  switchOn();
  const before = emulated.flash.slice();
  const operations: FlashOperation[] = [];
  const from = values();
  emulated.chip.flash.onOperation = (operation) => operations.push(operation);
  expect(commit(share)).toBe('done');
  emulated.chip.flash.onOperation = () => {};
  return { before, operations, from, to: values() };
}

beforeAll(async () => {
  emulated = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });
});

describe('a commit of parameters', () => {
  it('is kept through power-off, every value of it', () => {
    const { from, to } = recorded(1.01);
    expect(to.filter((value, id) => value !== from[id]).length).toBe(ids.length);
    switchOn();
    expect(values()).toEqual(to);
    expect(generation()).toBe(1);
  });

  // The first two write an empty copy each, the third and fourth one that is in use as the older.
  for (const round of amount([2, 3, 4], [2])) {
    it(`that loses its power at any operation leaves the old values or the new ones (generation ${round})`, () => {
      const { before, operations, from, to } = recorded(1.01);
      const after = emulated.flash.slice();
      expect(operations.length).toBeGreaterThanOrEqual(2);
      const sectors = new Set(operations.map(({ at }) => at - (at % SECTOR)));
      expect([...sectors].every((at) => [0, 1, 2].includes((at - KEPT_AT) / SECTOR))).toBe(true);
      // One copy only is touched, and it is not the one in use.
      expect(sectors.size).toBe(1);
      const flash = before.slice();
      const seen = { old: 0, new: 0 };
      const look = (state: Uint8Array, what: string): void => {
        emulated.flash.set(state);
        switchOn();
        const now = values();
        const is_new = now.every((value, id) => value === to[id]);
        const is_old = now.every((value, id) => value === from[id]);
        expect(is_new || is_old, what).toBe(true);
        expect(generation(), what).toBe(is_new ? round : round - 1);
        if (is_new) seen.new++;
        else seen.old++;
      };
      for (const operation of operations) {
        for (let shape = 0; shape < 3; shape++) {
          const half = flash.slice();
          half.set(halfDone({ ...operation, number: shape }), operation.at);
          look(half, `half-way through ${operation.kind} at ${operation.at.toString(16)}, shape ${shape}`);
        }
        flash.set(operation.after, operation.at);
        look(flash, `after ${operation.kind} at ${operation.at.toString(16)}`);
      }
      expect(seen.old).toBeGreaterThan(0);
      expect(seen.new).toBeGreaterThan(0);
      emulated.flash.set(after);
    });
  }

  it('that really loses its power can be done again', () => {
    const { flash } = emulated.chip;
    switchOn();
    const from = values();
    flash.cut = { operation: flash.operations + 1, moment: 'half-way' };
    expect(commit(1.01)).toBe('');
    expect(emulated.dead).toBe(true);
    flash.cut = undefined;
    switchOn();
    expect(values()).toEqual(from);
    expect(commit(1.02)).toBe('done');
    expect(emulated.problems.text()).toBe('');
  });
});

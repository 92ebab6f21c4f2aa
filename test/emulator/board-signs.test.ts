/** What the shipped image shows of itself on the emulated chip: which chip it runs on, its sign of life, a key that is on with USB open. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { INPUT_KEY } from '../../firmware/wire/layout.gen.js';
import { EVENT_ROWS } from '../../firmware/wire/link-rows.js';
import { EmulatedBoard, LinkPort, NO_TIMES } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader } from './images.js';
import { enterLoader } from './updating.js';

const MS_ns = 1e6;
let board: EmulatedBoard;

beforeEach(async () => {
  board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage(), times: NO_TIMES });
  board.pins.setLines(RESTING);
  expect(board.runUntil(() => board.tick.count > 0, 1e9)).toBe(true);
});
afterEach(() => {
  expect(board.problems.text()).toBe('');
});

const chipId = (): number =>
  decodeLayout('identity', new LinkPort(board).ask('identity').payload)!.values.chip_id as number;

/** Rises of the LED in the next seconds, with their distances, ms. */
function blinks(seconds: number): number[] {
  const from_ns = board.now_ns;
  board.run(seconds * 1000 * MS_ns);
  const rises = board.recorder.edges(from_ns, 'LED').filter(({ high }) => high);
  return rises.slice(1).map(({ at_ns }, n) => (at_ns - rises[n].at_ns) / MS_ns);
}

describe('the shipped image', () => {
  it('says the revision of its chip', () => {
    expect(chipId()).toBe(0x20002927);
    board.chip.chip_id = 0x10002927;
    board.powerCut();
    board.powerUp();
    const { count } = board.tick;
    expect(board.runUntil(() => board.tick.count > count, 1e9)).toBe(true);
    expect(chipId()).toBe(0x10002927);
  });

  it('blinks the board’s own LED once a second, twice in the desk state', () => {
    // The first flash begins with the first tick.
    board.run(100 * MS_ns);
    for (const distance_ms of blinks(4)) expect(distance_ms).toBeCloseTo(1024, 0);
    expect(new LinkPort(board).ask('desk-begin').status).toBe(0);
    const desk = blinks(4).map(Math.round);
    expect(desk.slice(0, 2).toSorted((one, other) => one - other)).toEqual([128, 896]);
    expect(desk.length).toBeGreaterThan(5);
  });

  it('leaves the LED to the loader, which flashes it four times a second, and nothing else', () => {
    enterLoader(board);
    board.run(300 * MS_ns);
    const from_ns = board.now_ns;
    const flashes = blinks(3);
    expect(flashes.length).toBeGreaterThan(9);
    for (const distance_ms of flashes) expect(distance_ms).toBeCloseTo(256, -1);
    const other = board.recorder.edges(from_ns).filter(({ pin }) => pin !== 'LED');
    expect(other).toEqual([]);
  });

  it('notes a key that goes on while a program has its USB port open', () => {
    board.usb.plug();
    expect(board.runUntil(() => board.usb.device !== undefined, 2e9)).toBe(true);
    const events = () => {
      const { payload } = new LinkPort(board).ask('events-read', encodeLayout('span', { first: 0, count: 100 }));
      const kinds = decodeLayout('events', payload)!.records.map(({ kind }) => EVENT_ROWS[kind as number].name);
      return kinds.filter((kind) => kind === 'key-usb').length;
    };
    const turn = () => {
      board.pins.setLines(RESTING | INPUT_KEY);
      board.run(20 * MS_ns);
      board.pins.setLines(RESTING);
      board.run(1200 * MS_ns);
    };
    turn();
    expect(events(), 'plugged, and nobody has it open').toBe(0);
    board.usb.open();
    expect(board.runUntil(() => board.usb.opened, 1e9)).toBe(true);
    turn();
    expect(events()).toBe(1);
    board.usb.close();
    board.run(100 * MS_ns);
    turn();
    expect(events(), 'closed again').toBe(1);
  });
});

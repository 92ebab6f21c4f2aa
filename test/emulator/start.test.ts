/** How the chip starts: a crystal that comes late or not at all, a flash chip that is busy with what the reset broke off. */
import { describe, expect, it } from 'vitest';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { EmulatedBoard, LinkPort, REAL_TIMES } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader, board as number, variantImage } from './images.js';
import { enterLoader, headOf, writeRequest } from './updating.js';

const MS_ns = 1e6;
const S_ns = 1e9;
const PIERCE = PARAMETER_ROWS.find(({ name }) => name === 'pierce_ms')!;

const made = (times = REAL_TIMES) => EmulatedBoard.create({ loader: loadLoader(), image: loadImage(), times });
const ticks = (board: EmulatedBoard, most_ns: number): boolean => {
  const before = board.tick.count;
  return board.runUntil(() => board.tick.count > before + 3, most_ns);
};
/** Of a start at once, measured 128 ms. */
const LISTENS_NOT_ms = 160;

describe('a crystal', () => {
  it.each([1, 6, 63])('that needs %i ms is waited for, and not used before', async (settles_ms) => {
    const board = await made();
    board.chip.crystal.settles_ns = settles_ms * MS_ns;
    board.powerUp();
    expect(ticks(board, S_ns)).toBe(true);
    expect(board.problems.text()).toBe('');
  });

  it('that never comes leaves everything at rest, however long; when it comes after all the box starts', async () => {
    const board = await made();
    board.chip.crystal.settles_ns = Number.POSITIVE_INFINITY;
    board.powerUp();
    const from_ns = board.now_ns;
    expect(ticks(board, 5 * S_ns)).toBe(false);
    expect(board.recorder.edges(from_ns), 'edges at the outputs').toEqual([]);
    board.chip.crystal.settles_ns = 6 * MS_ns;
    expect(ticks(board, 2 * S_ns)).toBe(true);
    expect(board.problems.text()).toBe('');
  });

  it('that runs already is not waited for after a reset', async () => {
    const board = await made();
    const link = enterLoader(board);
    link.ask('restart');
    const before = board.chip.resets;
    board.runUntil(() => board.chip.resets > before, S_ns);
    const from_ns = board.now_ns;
    expect(ticks(board, S_ns)).toBe(true);
    // Boot ROM, copy of the loader, look into the slots, copy of the image; the start of a crystal alone takes 64 ms.
    expect((board.now_ns - from_ns) / MS_ns).toBeLessThan(LISTENS_NOT_ms);
  });
});

describe('a flash chip that is busy', () => {
  /** Slower than typical, as a worn one. */
  const SLOW = { sector_erase_us: 390_000, block_erase_us: 1_900_000, page_program_us: 3000 };

  it('at a fault of the processor is waited for before the reset, and the box starts again', async () => {
    const board = await made(SLOW);
    const link = new LinkPort(board);
    board.pins.setLines(RESTING);
    expect(ticks(board, S_ns)).toBe(true);
    board.run(600 * MS_ns);
    link.ask('parameters-stage', encodeLayout('values', {}, [{ id: PIERCE.id, value: 410 }]));
    link.send('parameters-commit');
    expect(board.runUntil(() => board.chip.flash.busy, S_ns)).toBe(true);
    board.run(5 * MS_ns);
    // No instruction stands there.
    board.chip.processor.r[15] = 0x60000000;
    expect(board.runUntil(() => board.chip.resets === 1, S_ns)).toBe(true);
    expect(board.chip.flash.busy).toBe(false);
    expect(ticks(board, S_ns)).toBe(true);
    const { boot } = decodeLayout('identity', new LinkPort(board).ask('identity').payload)!.values;
    expect(BOOT_ROWS[boot as number].name).toBe('hard-fault');
  });

  it('is read again by the boot ROM after a reset, as long as it takes up to 0.3 s', async () => {
    const board = await made();
    const image = variantImage(1);
    const link = enterLoader(board);
    link.ask('update-begin', headOf(image));
    link.ask('update-write', writeRequest(image, 0));
    expect(board.runUntil(() => board.chip.flash.busy, S_ns)).toBe(true);
    board.pressReset();
    expect(ticks(board, 2 * S_ns)).toBe(true);
    expect(board.chip.rom_waits).toBe(false);
    expect(board.flash[number('SLOT_1_AT')]).toBe(0xff);
  });

  it('for longer than the boot ROM tries leaves the chip in its USB boot, until the power is switched off and on', async () => {
    const board = await made(SLOW);
    const image = variantImage(1);
    const link = enterLoader(board);
    link.ask('update-begin', headOf(image));
    expect(board.runUntil(() => board.chip.flash.busy, S_ns)).toBe(true);
    board.pressReset();
    expect(ticks(board, 3 * S_ns)).toBe(false);
    expect(board.chip.rom_waits).toBe(true);
    board.powerUp();
    expect(ticks(board, 2 * S_ns)).toBe(true);
  });
});

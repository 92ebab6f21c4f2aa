/** The box starts again in the middle of `flash`, by its reset or a power cut, with the line still up: over both ways. */
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { EmulatedBoard } from '../../sim/emulator/index.js';
import { type FlashResult, flash, type Image, readImage } from '../../sim/link/index.js';
import { amount } from '../support/volume.js';
import { RESTING } from './cutting.js';
import { EmulatedLine, EmulatedUsbPort } from './emulated-line.js';
import { loadImage, loadLoader, board as number, variantImage } from './images.js';

const BAUD = 921_600;
/** How long the power is gone, ms: shorter and longer than a session waits for an answer. */
const GONE_MS = amount([0, 40, 700, 4000], [0, 4000], [40, 4000]);
/** Share of the image that has come when the box starts again; 1: while it verifies and marks. */
const SHARES = amount([0, 0.3, 0.7, 0.99], [0.7], [0, 0.7, 0.99]);
const CASES = GONE_MS.flatMap((gone_ms) => SHARES.map((share) => [gone_ms, share] as const));

let board: EmulatedBoard;
let image: Image;

beforeEach(async () => {
  vi.useFakeTimers();
  board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });
  board.pins.setLines(RESTING);
  image = readImage(variantImage(1), 'variant.image');
});
afterEach(() => {
  vi.useRealTimers();
});

/** Cuts the power when this share of the image has come, once, and switches it on again after a while. */
function cutAt(share: number, gone_ms: number) {
  let cut_at_ns = -1;
  return {
    onProgress: ({ sent, length, phase }: { sent: number; length: number; phase: string }) => {
      if (cut_at_ns >= 0 || phase !== 'send' || sent < share * length) return;
      cut_at_ns = board.now_ns;
      board.powerCut();
    },
    /** Called every millisecond of the test. */
    pass() {
      if (!board.dead) return;
      // A board without power has no time of its own.
      gone_ms--;
      if (gone_ms >= 0) return;
      board.powerUp();
      board.pins.setLines(RESTING);
    },
    was: () => cut_at_ns >= 0,
  };
}

function expectDone(result: FlashResult | undefined): void {
  expect(result!.after).toMatchObject({ in_loader: false, boot: 'update', image_sha256: image.image_sha256 });
  expect(result).toMatchObject({ slot: 1, generation: 2, written: true, compared: true });
  expect(result!.reconnects).toBeGreaterThan(0);
  const old = loadImage();
  const at = number('SLOT_0_AT') + number('PAGE_BYTES');
  expect(Buffer.compare(board.flash.subarray(at, at + old.length - 256), old.subarray(256)), 'the old image').toBe(0);
}

describe('flash goes on', () => {
  it.each(CASES)('over the serial line, after %i ms without power at %f of the image', async (gone_ms, share) => {
    const cut = cutAt(share, gone_ms);
    let line: EmulatedLine | undefined;
    const open = async () => {
      line = new EmulatedLine(board, () => vi.advanceTimersByTimeAsync(1));
      return line;
    };
    let result: FlashResult | undefined;
    let failed: unknown;
    flash({ open, image, baud: BAUD, onProgress: cut.onProgress }).then(
      (done) => {
        result = done;
      },
      (error) => {
        failed = error;
      },
    );
    for (let ms = 0; result === undefined && failed === undefined && ms < 30_000; ms++) {
      cut.pass();
      if (line === undefined) await vi.advanceTimersByTimeAsync(1);
      else await line.millisecond();
    }
    expect(failed).toBeUndefined();
    expect(cut.was()).toBe(true);
    expectDone(result);
  });

  it.each(CASES)('over USB, after %i ms without power at %f of the image', async (gone_ms, share) => {
    const cut = cutAt(share, gone_ms);
    const port = new EmulatedUsbPort(board, async (ms) => {
      if (ms > 0) cut.pass();
      await vi.advanceTimersByTimeAsync(ms);
    });
    board.usb.plug();
    expect(board.runUntil(() => board.usb.device !== undefined, 2e9)).toBe(true);
    const result = await port.through(
      flash({ open: () => port.open(), image, baud: BAUD, onProgress: cut.onProgress }),
    );
    expect(cut.was()).toBe(true);
    expectDone(result);
  });
});

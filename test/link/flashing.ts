import { vi } from 'vitest';
import { StandoffError } from '../../sim/base/index.js';
import { type FlashOptions, type FlashProgress, type FlashResult, flash } from '../../sim/link/index.js';
import { FakeBox, type FakeBoxOptions } from './fake-box.js';
import { FakeLine, type FakeLineOptions } from './fake-line.js';
import { slotOf } from './fake-loader.js';
import { inventedImage } from './images.js';

/** The image that the box was delivered with, and the one to be flashed. */
export const OLD = inventedImage(900, 1);
export const NEW = inventedImage(2900, 2);

/** A box that runs OLD. */
export const delivered = (options: FakeBoxOptions = {}) =>
  new FakeBox({ slots: [slotOf(OLD, 1), undefined], ...options });

export interface Tried {
  readonly result?: FlashResult;
  readonly error?: StandoffError;
  readonly lines: readonly FakeLine[];
  readonly progress: readonly FlashProgress[];
}

/** Flashes NEW on fake timers; the n-th opening of the line gets the n-th options, later ones the last. */
export async function flashed(
  box: FakeBox,
  lines: readonly FakeLineOptions[] = [{}],
  options: Partial<FlashOptions> = {},
): Promise<Tried> {
  const opened: FakeLine[] = [];
  const progress: FlashProgress[] = [];
  const open = async () => {
    const line = new FakeLine(box, lines[Math.min(opened.length, lines.length - 1)]);
    opened.push(line);
    return line;
  };
  const work = flash({ open, image: NEW, baud: 921600, onProgress: (step) => progress.push(step), ...options });
  let ended: { result?: FlashResult; error?: StandoffError } | undefined;
  work.then(
    (result) => {
      ended = { result };
    },
    (error) => {
      ended = { error };
    },
  );
  for (let waited_ms = 0; ended === undefined && waited_ms < 300_000; waited_ms += 100) {
    await vi.advanceTimersByTimeAsync(100);
  }
  if (ended?.error !== undefined && !(ended.error instanceof StandoffError)) throw ended.error;
  return { ...ended, lines: opened, progress };
}

/** Old or new, whole, and never neither: what the slots of the box hold. */
export function newestOf(box: FakeBox) {
  const slot = box.slots[box.update.newest]!;
  return [OLD, NEW].find(({ body }) => Buffer.compare(body, slot.body) === 0);
}

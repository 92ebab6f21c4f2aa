import { describe, expect, it } from 'vitest';
import { pipeline } from '../../sim/link/loader-session.js';

/** Pieces whose ends the test decides. */
function pieces() {
  const begun: number[] = [];
  const ends = new Map<number, { done(): void; fail(): void }>();
  const piece = (index: number) =>
    new Promise<void>((resolve, reject) => {
      begun.push(index);
      ends.set(index, { done: resolve, fail: () => reject(new Error(`piece ${index}`)) });
    });
  return { begun, ends, piece };
}
const settled = () => new Promise((resolve) => setImmediate(resolve));

describe('a pipeline', () => {
  it('begins a piece when the one a window before it is done, not when any is', async () => {
    const { begun, ends, piece } = pieces();
    const work = pipeline(6, 3, piece);
    await settled();
    expect(begun).toEqual([0, 1, 2]);
    ends.get(1)!.done();
    ends.get(2)!.done();
    await settled();
    expect(begun).toEqual([0, 1, 2]);
    ends.get(0)!.done();
    await settled();
    expect(begun).toEqual([0, 1, 2, 3, 4, 5]);
    for (const index of [3, 4, 5]) ends.get(index)!.done();
    await work;
  });

  it('ends with the first failure and begins nothing after it', async () => {
    const { begun, ends, piece } = pieces();
    const work = pipeline(6, 2, piece);
    await settled();
    ends.get(1)!.fail();
    ends.get(0)!.done();
    await expect(work).rejects.toThrow('piece 1');
    expect(begun).toEqual([0, 1, 2]);
  });

  it('has nothing to do with no pieces', async () => {
    await pipeline(0, 3, () => Promise.reject(new Error('begun')));
  });
});

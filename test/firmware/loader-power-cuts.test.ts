import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { describeAgainst } from '../reference/support.js';
import { buildLoaderProgram, GCC } from './loader-native.js';

interface Found {
  readonly first: boolean;
  readonly operations: readonly number[];
  readonly tried: number;
  readonly old: number;
  readonly new: number;
  readonly neither: number;
  readonly failed: number;
  readonly finished_after: number;
  readonly generation: number;
  readonly storm_bad: number;
}

describeAgainst(GCC, 'a power cut at any flash operation of an update, or of the way back from one', (gcc) => {
  const program = buildLoaderProgram(gcc, 'power-cuts');
  const run = (length: number, seed: number, storms = 0): Found =>
    JSON.parse(execFileSync(program, [length, seed, storms].map(String), { encoding: 'utf8' })) as Found;

  /** Operations of one update: the block, the sector behind it where the image is that long, each page, the head page. */
  const operations = (length: number): number => (length + 256 > 65_536 ? 2 : 1) + Math.ceil(length / 256) + 1;
  /** Cuts at the one operation that gives an image up. */
  const GIVE_UPS = 60;

  it.each([
    [40_000, 1],
    [65_536, 2],
    [2_048, 3],
  ])('leaves the old or the new image of %i bytes, never neither, before, within and after each', (length, seed) => {
    const found = run(length, seed);
    expect(found.first).toBe(true);
    const there = operations(length - 1024);
    expect(found.operations).toEqual([there, operations(length), there]);
    const tried = 3 * found.operations.reduce((sum, count) => sum + count) + GIVE_UPS;
    // Generations: first, there, back, given up, and one above that.
    expect(found).toMatchObject({ tried, neither: 0, failed: 0, generation: 5 });
    expect(found.old + found.new, 'a given up image, or another one, booted').toBe(tried);
    // The new image boots only once its head page is whole: cut after the last operation of an update, or within it when all of
    // the page had got through. A failed one is given up by any bit of its mark.
    expect(found.new).toBeGreaterThanOrEqual(3 + GIVE_UPS / 3);
    expect(found.new).toBeLessThanOrEqual(6 + (2 * GIVE_UPS) / 3);
    expect(found.finished_after, 'what succeeded from what a cut had left').toBe(tried);
  });

  it('leaves an image that boots after any number of cuts in a row', () => {
    expect(run(20_000, 4, 400).storm_bad).toBe(0);
  });
});

import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { describeAgainst } from '../reference/support.js';
import { buildLoaderProgram, GCC } from './loader-native.js';

interface Found {
  readonly first: boolean;
  readonly operations: readonly [number, number];
  readonly tried: number;
  readonly old: number;
  readonly new: number;
  readonly neither: number;
  readonly failed: number;
  readonly finished_after: number;
  readonly generation: number;
  readonly storm_bad: number;
}

describeAgainst(GCC, 'a power cut at any flash operation of an update', (gcc) => {
  const program = buildLoaderProgram(gcc, 'power-cuts');
  const run = (length: number, seed: number, storms = 0): Found =>
    JSON.parse(execFileSync(program, [length, seed, storms].map(String), { encoding: 'utf8' })) as Found;

  /** Operations of one update: each sector once, each page once, the head page. */
  const operations = (length: number): number => Math.ceil((length + 256) / 4096) + Math.ceil(length / 256) + 1;

  it.each([
    [40_000, 1],
    [65_536, 2],
    [2_048, 3],
  ])('leaves the old or the new image of %i bytes, never neither, before, within and after each', (length, seed) => {
    const found = run(length, seed);
    expect(found.first).toBe(true);
    expect(found.operations).toEqual([operations(length - 1024), operations(length)]);
    const cuts = 3 * (found.operations[0] + found.operations[1]);
    expect(found).toMatchObject({ tried: cuts, neither: 0, failed: 0, generation: 3 });
    expect(found.old + found.new).toBe(cuts);
    // The new image boots only once its head page is whole: cut after the last operation of either update, or within it
    // when all of the page had got through.
    expect(found.new).toBeGreaterThanOrEqual(2);
    expect(found.new).toBeLessThanOrEqual(4);
    expect(found.finished_after, 'updates that succeeded from what a cut had left').toBe(cuts);
  });

  it('leaves an image that boots after any number of cuts in a row', () => {
    expect(run(20_000, 4, 400).storm_bad).toBe(0);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compareTraces } from '../../sim/judge/index.js';
import { COLUMN_ROWS } from '../../sim/run/trace/index.js';
import { blocksOf, madeCut } from './made-cut.js';

const NAMES = COLUMN_ROWS.map(({ name }) => name);

describe('requirement 11, comparison of two runs', () => {
  const cut = madeCut().slice(0, 2500);

  it('finds a run the same as itself, however each is cut into blocks', async () => {
    expect(await compareTraces(blocksOf(cut), blocksOf(cut, [1, 7, 0, 999, 500]))).toBeNull();
    expect(await compareTraces([], [])).toBeNull();
  });

  it('says the first tick and column in which two runs differ, and both values', async () => {
    await fc.assert(
      fc.asyncProperty(fc.nat({ max: cut.length - 1 }), fc.constantFrom(...NAMES), async (tick, column) => {
        const other = cut.map((row) => ({ ...row }));
        const before = other[tick][column] ?? 0;
        other[tick][column] = before + 1;
        if (tick + 1 < other.length) other[tick + 1].mode = 99;
        const difference = await compareTraces(blocksOf(cut), blocksOf(other, [10, 3]));
        expect(difference).toMatchObject({ tick, column, a: Math.fround(before), b: Math.fround(before + 1) });
      }),
      { numRuns: 30 },
    );
  });

  it('looks only at the columns that it is asked to look at', async () => {
    const other = cut.map((row) => ({ ...row, standoff_mm: 0 }));
    expect(await compareTraces(blocksOf(cut), blocksOf(other), ['z_steps', 'mode'])).toBeNull();
  });

  it('says where one run ends before the other', async () => {
    const shorter = cut.slice(0, 1234);
    const end = { tick: 1234, column: null, a: undefined, b: undefined };
    expect(await compareTraces(blocksOf(shorter), blocksOf(cut))).toEqual(end);
    expect(await compareTraces(blocksOf(cut), blocksOf(shorter))).toEqual(end);
  });

  it('takes NaN as equal to itself, and tells 0 from -0', async () => {
    const nan = cut.map((row) => ({ ...row, slope_x: Number.NaN }));
    expect(await compareTraces(blocksOf(nan), blocksOf(nan))).toBeNull();
    const minus = cut.map((row) => ({ ...row, slope_x: -0 }));
    expect(await compareTraces(blocksOf(cut), blocksOf(minus))).toMatchObject({ tick: 0, column: 'slope_x' });
  });
});

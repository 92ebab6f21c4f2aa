import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { MODE_FOLLOW } from '../../firmware/wire/codes.gen.js';
import { Judge } from '../../sim/judge/index.js';
import { BLOCK_TICKS, COLUMN_ROWS, type ColumnName, TraceHash } from '../../sim/run/trace/index.js';
import { amount } from '../support/volume.js';
import { judge, madeContext } from './judge.js';
import { feed, firstIn, type MadeRow, madeCut, plant } from './made-cut.js';

describe('the judge', () => {
  it('finds every requirement kept in a correct cut', () => {
    const judged = judge(madeCut());
    expect(judged.results().filter((result) => result.kind === 'requirement' && !result.kept)).toEqual([]);
    expect(judged.kept()).toBe(true);
  });

  it('says of a requirement that the run never tested: kept, checked 0, no margin', () => {
    const silent = judge(madeCut())
      .results()
      .filter((result) => result.checked === 0);
    expect(silent.map((result) => result.name).sort()).toEqual([
      'corner-dive',
      'descent-after-arc-loss',
      'fault-reset',
      'kerf-crossing-dive',
      'outside-window',
      'parameters-at-rest',
      'permit-withdrawal',
      'rest-means-rest',
      'stop-chain-stops-z',
      'stray-motion',
    ]);
    for (const result of silent) expect(result).toMatchObject({ kept: true, margin: null, worst_tick: null });
  });

  it('judges every requirement but number 11, which needs two runs', () => {
    const requirements = judge([])
      .results()
      .filter((result) => result.kind === 'requirement');
    expect([...new Set(requirements.map((requirement) => requirement.number))].sort((a, b) => a - b)).toEqual([
      0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 13, 14, 15,
    ]);
    expect(new Set(requirements.map((requirement) => requirement.name)).size).toBe(requirements.length);
  });

  it('says nothing about an empty run', () => {
    for (const result of judge([]).results()) expect(result).toMatchObject({ kept: true, checked: 0, margin: null });
  });

  it('reports a missed quality goal without calling the run broken', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_FOLLOW), 400, (row) => {
      row.standoff_mm = 2.5;
    });
    const judged = judge(rows);
    expect(judged.results().find((result) => result.name === 'following-rms')).toMatchObject({
      kind: 'goal',
      kept: false,
    });
    expect(judged.kept()).toBe(true);
  });

  it('calls the run broken as soon as one requirement is', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_FOLLOW), 1, (row) => {
      row.digital_inputs = 0;
    });
    expect(judge(rows).kept()).toBe(false);
  });
});

/** Codes that occur, so that damage meets the requirements and not only their skips. */
const VALUES: Partial<Record<ColumnName, fc.Arbitrary<number>>> = {
  digital_inputs: fc.integer({ min: 0, max: 1023 }),
  digital_outputs: fc.integer({ min: 0, max: 15 }),
  mode: fc.integer({ min: 0, max: 10 }),
  stage: fc.integer({ min: 0, max: 9 }),
  hold: fc.integer({ min: 0, max: 4 }),
  fault: fc.integer({ min: 0, max: 19 }),
  flags: fc.integer({ min: 0, max: 127 }),
  z_steps: fc.integer({ min: -40, max: 40 }),
  x_steps: fc.integer({ min: -20, max: 20 }),
  measured_V: fc.integer({ min: -50, max: 300 }),
  z_velocity_mm_s: fc.integer({ min: -60, max: 60 }),
  slope_x: fc.constantFrom(0, Number.NaN, Number.POSITIVE_INFINITY),
  standoff_mm: fc.integer({ min: -1, max: 30 }),
  corner_mm: fc.constantFrom(0, 5, 12, 1e6),
  contour: fc.integer({ min: -1, max: 3 }),
  burning: fc.integer({ min: 0, max: 1 }),
  relay: fc.integer({ min: 0, max: 1 }),
  crossing: fc.integer({ min: 0, max: 1 }),
  off_sheet: fc.integer({ min: 0, max: 1 }),
};
const NAMES = Object.keys(VALUES) as ColumnName[];

const damage = fc.constantFrom(...NAMES).chain((name) =>
  fc.record({
    name: fc.constant(name),
    at: fc.nat({ max: 4500 }),
    length: fc.constantFrom(1, 2, 3, 30, 400, 1500),
    value: VALUES[name]!,
  }),
);

describe('division into blocks', () => {
  it('never changes a verdict, a figure or the hash, whatever is wrong with the run', () => {
    const clean = madeCut();
    fc.assert(
      fc.property(
        fc.array(damage, { maxLength: 6 }),
        fc.array(fc.oneof(fc.integer({ min: 0, max: 5 }), fc.integer({ min: 0, max: BLOCK_TICKS })), {
          minLength: 1,
          maxLength: 12,
        }),
        (damages, sizes) => {
          const rows = clean.map((row) => ({ ...row }));
          for (const { name, at, length, value } of damages) {
            for (let row = at; row < Math.min(at + length, rows.length); row++) rows[row][name] = value;
          }
          expect(everything(rows, sizes)).toEqual(everything(rows, []));
        },
      ),
      { numRuns: amount(150, 40) },
    );
  });

  it('the clean cut is as long as the damage reaches, and its columns exist', () => {
    expect(madeCut().length).toBeGreaterThan(4500);
    const names: readonly string[] = COLUMN_ROWS.map(({ name }) => name);
    expect(names).toEqual(expect.arrayContaining(NAMES));
  });
});

function everything(rows: readonly MadeRow[], sizes: readonly number[]) {
  const judge = new Judge(madeContext());
  const hash = new TraceHash();
  judge.parameterChanged(700, 19);
  feed(rows, [judge, hash], sizes);
  return { results: judge.results(), figures: judge.figures.figures(), hash: hash.hex() };
}

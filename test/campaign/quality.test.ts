import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addQuality, emptyQuality, joinQuality, quantileOf, sortedQuality } from '../../sim/campaign/quality.js';
import type { RequirementResult } from '../../sim/judge/index.js';

const goal = (margin: number | null, number = 0): RequirementResult => ({
  name: `goal-${number}`,
  number,
  kind: 'goal',
  statement: 'what it says',
  kept: margin === null || margin >= 0,
  margin,
  unit: 'mm',
  worst_tick: null,
  checked: margin === null ? 0 : 1,
  checked_unit: 'times',
});
const figures = (mean_mm: number | null) => ({
  standoff_error_mean_mm: mean_mm,
  standoff_error_rms_mm: mean_mm === null ? null : Math.abs(mean_mm) / 2,
  corner_dive_mm: null,
  kerf_crossing_dive_mm: null,
});
const of = (means_mm: readonly (number | null)[]) => {
  const quality = emptyQuality();
  for (const [index, mean_mm] of means_mm.entries()) addQuality(quality, index, true, [], figures(mean_mm));
  return quality;
};

describe('the spread of a figure over cuts', () => {
  it('says what half, and 95 %, of the cuts do not exceed, to a hundredth of a millimetre', () => {
    // 0.005, 0.015, … 0.995 mm, every other one below the wanted standoff.
    const { figures } = of(Array.from({ length: 100 }, (_, n) => (n % 2 ? -1 : 1) * (0.005 + n / 100)));
    const spread = figures.standoff_error_mean_mm;
    expect(quantileOf(spread, 0.5)).toBeCloseTo(0.5, 9);
    expect(quantileOf(spread, 0.95)).toBeCloseTo(0.95, 9);
    expect(quantileOf(spread, 1)).toBeCloseTo(0.995, 9);
    expect(spread).toMatchObject({ cuts: 100, worst_case: 99 });
    expect(spread.worst_mm).toBeCloseTo(-0.995, 9);
  });

  it('never says more than the worst cut, and nothing without a cut', () => {
    expect(quantileOf(of([0.101]).figures.standoff_error_mean_mm, 0.5)).toBe(0.101);
    expect(quantileOf(of([null]).figures.standoff_error_mean_mm, 0.5)).toBeNull();
  });

  it('holds no cut with a fault or an operator in it', () => {
    const quality = emptyQuality();
    addQuality(quality, 0, false, [goal(-1)], figures(2));
    expect(quality).toEqual(emptyQuality());
  });
});

describe('quality goals', () => {
  it('are counted as missed where they were put to the test; those with a number in every cut', () => {
    const quality = emptyQuality();
    addQuality(quality, 0, true, [goal(0.2), goal(0.3, 14)], figures(null));
    addQuality(quality, 1, true, [goal(-0.1), goal(null, 14)], figures(null));
    addQuality(quality, 2, false, [goal(-0.5), goal(-0.4, 14)], figures(null));
    expect(quality.goals['goal-0']).toMatchObject({ tested: 2, missed: 1, worst_margin: -0.1, worst_case: 1 });
    expect(quality.goals['goal-14']).toMatchObject({ tested: 2, missed: 1, worst_margin: -0.4, worst_case: 2 });
  });
});

describe('parts of a campaign', () => {
  it('give the same sum in whatever order they come', () => {
    const cuts = fc.array(
      fc.record({ mean_mm: fc.integer({ min: -9, max: 9 }), margin: fc.integer({ min: -3, max: 3 }) }),
    );
    fc.assert(
      fc.property(cuts, fc.array(fc.nat(2), { minLength: 40, maxLength: 40 }), (list, parts) => {
        const whole = emptyQuality();
        const shards = [emptyQuality(), emptyQuality(), emptyQuality()];
        for (const [index, { mean_mm, margin }] of list.entries()) {
          for (const quality of [whole, shards[parts[index % 40]]])
            addQuality(quality, index, true, [goal(margin), goal(-margin, 12)], figures(mean_mm / 10));
        }
        const sum = emptyQuality();
        for (const shard of [shards[2], shards[0], shards[1]]) joinQuality(sum, shard);
        expect(JSON.stringify(sortedQuality(sum))).toBe(JSON.stringify(sortedQuality(whole)));
      }),
    );
  });
});

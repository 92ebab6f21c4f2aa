import { describe, expect, it } from 'vitest';
import { caseOf } from '../../sim/campaign/case.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import { relationsKept } from '../../sim/campaign/relations.js';
import { defaultSetup } from '../../sim/run/setup/index.js';

const setup = defaultSetup();
const ranges = rangesAround(setup);
const cases = Array.from({ length: 400 }, (_, index) => caseOf({ setup, ranges, duration_s: 12 }, 1, index).values);
const drawn = (path: string) => cases.map((values) => values[path]);

describe('what is one thing or the other', () => {
  it.each([
    ['machine.supply.phases', 1, 3],
    ['machine.supply.mains_Hz', 50, 60],
    ['machine.converter.wide_counts', 0, 9],
    ['machine.table.torch_off_mm_s', 0, 100],
  ])('%s is drawn as %i or %i, about as often, and as nothing between', (path, low, high) => {
    const values = drawn(path);
    expect(new Set(values)).toEqual(new Set([low, high]));
    // 200 of 400, ±10; six of these.
    expect(Math.abs(values.filter((value) => value === low).length - 200)).toBeLessThan(60);
  });

  it('is not simplified to something between', () => {
    const values = (phases: number) => ({ 'machine.supply.phases': phases });
    expect(relationsKept(setup, ranges, values(3))).toBe(true);
    expect(relationsKept(setup, ranges, values(2))).toBe(false);
  });

  it('is the mains of the box as well as that of the supply', () => {
    expect(drawn('box.mains_Hz')).toEqual(drawn('machine.supply.mains_Hz'));
  });
});

describe('bumps', () => {
  it('are drawn no steeper than handling leaves them', () => {
    const steep = cases.map((values) => (3.08 * values['world.sheet.bump_mm']) / values['world.sheet.bump_size_mm']);
    expect(Math.max(...steep)).toBeLessThanOrEqual(0.05);
    expect(Math.max(...steep)).toBeGreaterThan(0.045);
  });
});

import { describe, expect, it } from 'vitest';
import { DEFAULT_WORLD, FAULT_ROWS, withValues } from '../../../sim/world/plant/index.js';

describe('changed values', () => {
  it('change a copy at their paths and nothing else', () => {
    const changed = withValues(DEFAULT_WORLD, { 'arc.slope_V_per_mm': 2, 'sheet.wave_phase_from_seed': false });
    expect(changed.arc.slope_V_per_mm).toBe(2);
    expect(changed.sheet.wave_phase_from_seed).toBe(false);
    expect(DEFAULT_WORLD.arc.slope_V_per_mm).toBe(4);
    expect(withValues(changed, { 'arc.slope_V_per_mm': 4, 'sheet.wave_phase_from_seed': true })).toEqual(DEFAULT_WORLD);
  });

  it('are refused with the path when nothing is called so or the type differs', () => {
    expect(() => withValues(DEFAULT_WORLD, { 'arc.slope': 2 })).toThrow(/no quantity is called arc\.slope/);
    expect(() => withValues(DEFAULT_WORLD, { 'constructor.name': 2 })).toThrow(/no quantity is called/);
    expect(() => withValues(DEFAULT_WORLD, { 'arc.slope_V_per_mm': true })).toThrow(/true, a boolean; give a number/);
  });
});

describe('the kinds of fault', () => {
  it('have distinct names and defaults inside their ranges', () => {
    expect(new Set(FAULT_ROWS.map((row) => row.kind)).size).toBe(FAULT_ROWS.length);
    for (const row of FAULT_ROWS) {
      if (!('value' in row)) continue;
      expect(row.value.default).toBeGreaterThanOrEqual(row.value.min);
      expect(row.value.default).toBeLessThanOrEqual(row.value.max);
    }
  });
});

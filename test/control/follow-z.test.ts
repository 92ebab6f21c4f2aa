import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

describe('Z in follow', () => {
  const NO_CROSSING = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0 };

  it('goes down by a fifth of cut height and no more over a level sheet, whatever the floor allows', () => {
    const rig = new Rig({ ...NO_CROSSING, floor_allowance_mm: 5, slope_limit: 0, wrong_way_mm: 5, feed_effect_V: 0 });
    rig.at('follow').run(300).extra_V = 11;
    rig.run(1000);
    expect(rig.mode).toBe('follow');
    // The ramp from 10 mm/s at 1500 mm/s² is 0.033 mm.
    expect(rig.standoff_mm).toBeGreaterThan(1.15);
    expect(rig.standoff_mm).toBeLessThan(1.25);
  });

  it('goes down by two thirds of the steepest sheet over path, and by what it has risen before', () => {
    const rig = new Rig({ ...NO_CROSSING, floor_allowance_mm: 5, wrong_way_mm: 5 }).at('follow').run(300);
    rig.extra_V = 11;
    rig.run(100);
    const before_mm = rig.standoff_mm;
    // 10 mm of path at 50 mm/s.
    rig.run(200);
    expect(before_mm - rig.standoff_mm).toBeGreaterThan(0.7);
    expect(before_mm - rig.standoff_mm).toBeLessThan(0.9);
    rig.extra_V = 0;
    rig.run(600);
    rig.extra_V = 11;
    rig.run(60);
    expect(rig.standoff_mm).toBeLessThan(1.25);
  });

  it('has a ceiling: cut height, both allowances, and twice the steepest sheet', () => {
    const rig = new Rig({ slope_limit: 0, wrong_way_mm: 5, arc_low_V: 40 }).at('follow');
    rig.extra_V = -18;
    rig.run(3000);
    expect(rig.mode).toBe('follow');
    expect(rig.standoff_mm).toBeGreaterThan(3.6);
    // Its stopping ramp is v²/2a.
    expect(rig.standoff_mm).toBeLessThan(3.7 + 40 ** 2 / 3000 + 0.05);
  });
});

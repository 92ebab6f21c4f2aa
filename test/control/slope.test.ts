import { describe, expect, it } from 'vitest';
import { OUTPUT_SLOPE_X, OUTPUT_SLOPE_Y } from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

type Leg = readonly [number, number, number];

/** Follows a plane a·x + b·y along the legs (steps of X and Y a tick, ticks). */
function followed(a: number, b: number, legs: readonly Leg[], slope_path_mm = 20): Rig {
  const rig = new Rig({ feed_effect_V: 0, corner_fraction: 0, slope_path_mm });
  rig.sheet_mm = -25;
  rig.at('follow');
  rig.x_steps = 0;
  rig.run(50);
  for (const [x, y, ticks] of legs) {
    rig.x_steps = x;
    rig.y_steps = y;
    rig.run(ticks, () => {
      rig.sheet_mm += (a * x + b * y) / 160;
    });
  }
  return rig;
}

describe('the slope of the sheet', () => {
  it.each([
    [0.03, 0],
    [-0.03, 0],
    [0.02, 0.04],
    [-0.04, 0.02],
  ])('comes out of a zigzag on a plane of %f and %f', (a, b) => {
    const legs = Array.from({ length: 12 }, (_, i) => [i % 2 === 0 ? 8 : 0, i % 2 === 0 ? 0 : 8, 400] as const);
    const rig = followed(a, b, legs, 100);
    expect(rig.fault).toBe('none');
    // A lag of 30 ms in the sheet as seen blurs each turn by 1.5 mm of 20 mm.
    expect(rig.real(OUTPUT_SLOPE_X)).toBeCloseTo(a, 2);
    expect(rig.real(OUTPUT_SLOPE_Y)).toBeCloseTo(b, 2);
  });

  it('is none on a level sheet while the torch is still on its way to the right standoff', () => {
    const rig = new Rig({ feed_effect_V: 0, gain_p_per_s: 3, gain_i_per_s2: 0 }).at('lower');
    // 0.5 mm too high at the start, and nine tenths of it made up in 0.8 s: 40 mm of path.
    rig.extra_V = 2;
    rig.until('settle');
    rig.x_steps = 8;
    rig.until('follow').run(800, () => expect(Math.abs(rig.real(OUTPUT_SLOPE_X))).toBeLessThan(0.005));
    expect(rig.standoff_mm).toBeLessThan(1.2);
  });

  it('on a diagonal is known along the path only: across it the sheet is taken for level', () => {
    const rig = followed(0.04, 0.04, [[6, 6, 3000]]);
    const along = (rig.real(OUTPUT_SLOPE_X) + rig.real(OUTPUT_SLOPE_Y)) / 2;
    const across = (rig.real(OUTPUT_SLOPE_X) - rig.real(OUTPUT_SLOPE_Y)) / 2;
    expect(along).toBeCloseTo(0.04, 2);
    expect(Math.abs(across)).toBeLessThan(0.002);
  });

  it('is level across a straight path along X, whatever Y does', () => {
    const rig = followed(0.04, 0.2, [[8, 0, 2000]]);
    expect(rig.real(OUTPUT_SLOPE_X)).toBeCloseTo(0.04, 2);
    expect(rig.real(OUTPUT_SLOPE_Y)).toBe(0);
  });

  it('is not believed beyond slope_limit', () => {
    const rig = new Rig({ feed_effect_V: 0, slope_limit: 0.02, floor_allowance_mm: 5 }).at('follow');
    rig.run(1500, () => {
      rig.sheet_mm += 0.0025;
    });
    expect(rig.real(OUTPUT_SLOPE_X)).toBeCloseTo(0.02, 6);
  });

  it('is forgotten between contours', () => {
    const rig = followed(0.04, 0, [[8, 0, 1500]]);
    expect(rig.real(OUTPUT_SLOPE_X)).toBeGreaterThan(0.03);
    rig.off(2);
    rig.x_steps = 0;
    rig.until('rest');
    rig.touchOff().until('settle');
    expect(rig.real(OUTPUT_SLOPE_X)).toBe(0);
  });
});

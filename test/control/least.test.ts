import { describe, expect, it } from 'vitest';
import { OUTPUT_TARGET_V } from '../../firmware/wire/layout.gen.js';
import { CUT_V, Rig, SLOPE_V_PER_MM } from './rig.js';

const NO_CROSSING = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0 };

/** Follows with a found target, all known of it. */
const following = (parameters: Readonly<Record<string, number>> = {}) =>
  new Rig({ target_learned: 1, feed_effect_V: 8, ...parameters }).at('follow').disturb('Ruler.by_height', 0);

/** Holds what was found at these values, whatever the ruler says of the next samples. */
const found = (rig: Rig, base_V: number, deviation_mm: number, ticks: number) =>
  rig.run(ticks, () => {
    rig.disturb('base_target_V', base_V).disturb('feed_effect_V', 0).disturb('Ruler.deviation_mm', deviation_mm);
  });

describe('the least that a found target may be', () => {
  it('is the voltage of the torch that came to stand at cut height, less 8 V more feed effect than told', () => {
    const rig = following();
    const start_V = rig.state('start_V');
    expect(start_V).toBeCloseTo(CUT_V, 0);
    found(rig, CUT_V - 40, 0, 60);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(start_V - 16 * (1 - rig.state('slowness')), 2);
    found(rig, CUT_V - 10, 0, 10);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(CUT_V - 10, 3);
  });

  it('is higher by what is left of the feed effect at a slower feed, and follows the trim', () => {
    const rig = following({ ...NO_CROSSING, trim_V: 2, corner_fraction: 0, wrong_way_mm: 5 });
    rig.x_steps = 4;
    found(rig, CUT_V, 0, 400);
    found(rig, CUT_V - 40, 0, 40);
    expect(rig.state('slowness')).toBeCloseTo(0.5, 1);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(rig.state('start_V') + 2 - 16 * (1 - rig.state('slowness')), 2);
  });

  it('does not bound a told target', () => {
    const rig = new Rig({ feed_effect_V: 0 }).at('follow').run(200);
    rig.disturb('base_target_V', CUT_V - 40).tick();
    expect(rig.real(OUTPUT_TARGET_V)).toBe(CUT_V - 40);
  });
});

describe('what is not known of a found target', () => {
  it('raises it by three deviations beyond two thirds of cut height, 10 mm/s at most', () => {
    const rig = following();
    found(rig, CUT_V, 0, 100);
    found(rig, CUT_V, 0.3, 100);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(CUT_V, 3);
    // The ruler's own word is heard in one tick of 24.
    found(rig, CUT_V, 0.5, 20);
    expect(rig.state('doubt_mm')).toBeGreaterThan(0.1);
    expect(rig.state('doubt_mm')).toBeLessThan(0.21);
    found(rig, CUT_V, 0.5, 200);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(CUT_V + 0.5 * SLOPE_V_PER_MM, 0);
    found(rig, CUT_V, 0.1, 200);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(CUT_V, 3);
  });

  it('does not raise a told one', () => {
    const rig = new Rig({ feed_effect_V: 0 }).at('follow').run(200);
    expect(found(rig, CUT_V, 5, 50).real(OUTPUT_TARGET_V)).toBe(CUT_V);
  });
});

describe('Z by touched height', () => {
  /** By height, 1 mm above what it was touched for, with a voltage that says so much of the standoff. */
  const byHeight = (volts: number, above_mm: number) => {
    const rig = following(NO_CROSSING).run(50);
    const z_touched = rig.state('z_touched') - above_mm * 400;
    const before_mm = rig.standoff_mm;
    rig.run(90, () => {
      rig.extra_V = volts - (rig.standoff_mm - 1.5) * SLOPE_V_PER_MM;
      rig.disturb('Ruler.by_height', 1).disturb('Ruler.slope_x', 0).disturb('Ruler.first', 0);
      rig.disturb('base_target_V', CUT_V).disturb('feed_effect_V', 0).disturb('Ruler.deviation_mm', 0);
      rig.disturb('z_touched', z_touched);
    });
    return rig.standoff_mm - before_mm;
  };

  it('goes down where the voltage says so too', () => {
    expect(byHeight(4, 1)).toBeLessThan(-0.3);
  });

  it('does not go down where the voltage says that the torch is low already', () => {
    expect(byHeight(-2, 1)).toBeGreaterThan(-0.05);
  });

  it('goes up where the voltage is low by more than half of cut height', () => {
    expect(byHeight(-5, 0)).toBeGreaterThan(1);
    expect(byHeight(-2, 0)).toBeLessThan(0.25);
  });
});

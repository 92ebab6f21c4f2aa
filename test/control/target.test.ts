import { describe, expect, it } from 'vitest';
import { FLAG_TARGET_KEPT, INPUT_REQUEST, OUTPUT_TARGET_V } from '../../firmware/wire/layout.gen.js';
import { CUT_V, Rig } from './rig.js';

const LEARN = { target_learned: 1, feed_effect_V: 0, feed_effect_ms: 50, learn_ms: 200 };

/** One contour whose arc is `extra_V` above what is expected; ends at rest. */
function contour(rig: Rig, extra_V: number, ticks = 1500, steps = 8): number {
  if (rig.state('armed') === 0) rig.ready();
  rig.extra_V = extra_V;
  rig.touchOff().until('settle');
  rig.x_steps = steps;
  rig.run(ticks);
  const target_V = rig.state('base_target_V');
  rig.off(INPUT_REQUEST);
  rig.x_steps = 0;
  rig.until('rest');
  return target_V;
}

describe('a fixed target', () => {
  it('is target_V with trim and the allowance for the feed effect', () => {
    const rig = new Rig({ target_V: 118, feed_effect_V: 8, feed_effect_learned: 0, trim_V: 0 }).at('follow');
    rig.run(2000);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(118, 1);
    rig.x_steps = 4;
    rig.run(1000);
    // Half the target feed: half the feed effect.
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(122, 1);
    rig.x_steps = 0;
    rig.run(1000);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(126, 1);
  });

  it('waits with the allowance as the moving mean delays the voltage: a quarter of a mains period', () => {
    for (const [mains_Hz, delay_ms] of [
      [50, 5],
      [62.5, 4],
    ] as const) {
      const rig = new Rig({ mains_Hz }).ready();
      rig.x_steps = 8;
      rig.run(300);
      rig.x_steps = 0;
      rig.run(10);
      // A first-order lag by the backward rule; f32.
      expect(rig.state('x_delayed_mm_s')).toBeCloseTo(50 * (delay_ms / (delay_ms + 1)) ** 10, 4);
    }
  });
});

describe('a learned target', () => {
  it('is the mean of the voltage at a steady feed', () => {
    // The rig reads in counts of 0.1 V.
    expect(contour(new Rig(LEARN), 6)).toBeCloseTo(CUT_V + 6, 0);
  });

  it('is learned only after the feed has been steady for three time constants and learn_ms', () => {
    const rig = new Rig({ ...LEARN, feed_effect_ms: 100 }).ready().touchOff();
    rig.until('settle');
    rig.x_steps = 8;
    const from = rig.ticks;
    rig.until('follow');
    expect(rig.ticks - from).toBeGreaterThan(300 + 200);
  });

  it('forgets what it had when the feed was not steady for a moment', () => {
    const rig = new Rig(LEARN).ready();
    rig.extra_V = 6;
    rig.touchOff().until('settle');
    const cut = (ticks: number, steps: number) => {
      rig.x_steps = steps;
      rig.run(ticks);
    };
    // Half of learn_ms, then a jolt, then learning again within the 40 mm of path that it may take.
    while (rig.state('learn_ms') < 100) cut(1, 4);
    cut(15, 6);
    expect(rig.mode).toBe('settle');
    expect(rig.state('learn_ms')).toBe(0);
    rig.x_steps = 4;
    rig.until('follow');
    expect(rig.flag(FLAG_TARGET_KEPT)).toBe(false);
    expect(rig.state('base_target_V')).toBeCloseTo(CUT_V + 6, 0);
  });

  it.each([16, -16])('outside learn_band_V is not taken: %i V from what is expected', (extra_V) => {
    const rig = new Rig({ ...LEARN, learn_band_V: 15, transfer_V: 143, gain_p_per_s: 0 }).ready();
    rig.extra_V = extra_V;
    rig.touchOff().until('settle');
    rig.x_steps = 8;
    rig.until('follow');
    expect(rig.state('base_target_V')).toBe(118);
    expect(rig.flag(FLAG_TARGET_KEPT)).toBe(true);
  });

  it('below what was expected is learned at cut height: the torch is not raised before it is known', () => {
    const rig = new Rig({ ...LEARN, learn_band_V: 15, up_band_mm: 1.5 });
    expect(contour(rig, -10)).toBeCloseTo(CUT_V - 10, 0);
  });

  it('outside the band by far lets the torch rise even while learning', () => {
    const rig = new Rig({ ...LEARN, learn_band_V: 15 }).ready();
    rig.extra_V = -28;
    rig.touchOff().until('settle');
    rig.x_steps = 8;
    rig.until('follow');
    expect(rig.standoff_mm).toBeGreaterThan(3);
  });

  it('changes by no more than learn_change_V from one contour to the next', () => {
    const rig = new Rig({ ...LEARN, learn_change_V: 2 });
    const first = contour(rig, 0);
    // 5 V more bring the torch down by 0.75 mm; by its whole height it would be a contact.
    const second = contour(rig, 5);
    expect(second).toBeCloseTo(first + 2, 4);
    expect(contour(rig, 5)).toBeCloseTo(first + 4, 4);
    expect(contour(rig, -5)).toBeCloseTo(first + 2, 4);
  });

  it('is kept by a contour that never comes to a steady feed, which says so', () => {
    const rig = new Rig(LEARN);
    const first = contour(rig, 5);
    rig.extra_V = 0;
    rig.touchOff().until('settle');
    for (let i = 0; i < 4000 && rig.mode === 'settle'; i++) {
      rig.x_steps = Math.floor(i / 60) % 2 === 0 ? 8 : 3;
      rig.tick();
    }
    expect(rig.mode).toBe('follow');
    expect(rig.state('base_target_V')).toBe(first);
    expect(rig.flag(FLAG_TARGET_KEPT)).toBe(true);
    // 40 mm of path.
    expect(rig.state('settle_path_mm')).toBeGreaterThan(40);
  });

  it('is not learned from a table that stands still', () => {
    const rig = new Rig(LEARN).ready().touchOff().until('settle').run(2000);
    expect(rig.stage).toBe('learn');
    expect(rig.mode).toBe('settle');
  });

  it('brings its own feed, at which it is right, and the feed effect is then learned from the next standstill', () => {
    const rig = new Rig({ ...LEARN, feed_effect_V: 8 });
    contour(rig, 0, 1500, 4);
    expect(1 / rig.state('target_pace_s_per_mm')).toBeCloseTo(25, 0);
    const before = rig.state('feed_effect_V');
    rig.extra_V = 8;
    rig.touchOff().until('settle').run(1);
    expect(rig.state('feed_effect_V')).not.toBe(before);
  });
});

import { describe, expect, it } from 'vitest';
import { FLAG_TARGET_KEPT, INPUT_REQUEST, OUTPUT_TARGET_V } from '../../firmware/wire/layout.gen.js';
import { CUT_V, Desk } from './bench.js';

const LEARN = { target_learned: 1, feed_effect_V: 0, feed_effect_ms: 50, learn_ms: 200 };

/** One contour whose arc is `extra_V` above what is expected; ends at rest. */
function contour(desk: Desk, extra_V: number, ticks = 1500, steps = 8): number {
  if (desk.state('armed') === 0) desk.ready();
  desk.extra_V = extra_V;
  desk.touchOff().until('settle');
  desk.x_steps = steps;
  desk.run(ticks);
  const target_V = desk.state('base_target_V');
  desk.off(INPUT_REQUEST);
  desk.x_steps = 0;
  desk.until('rest');
  return target_V;
}

describe('a fixed target', () => {
  it('is target_V with trim and the allowance for the feed effect', () => {
    const desk = new Desk({ target_V: 118, feed_effect_V: 8, feed_effect_learned: 0, trim_V: 0 }).at('follow');
    desk.run(2000);
    expect(desk.real(OUTPUT_TARGET_V)).toBeCloseTo(118, 1);
    desk.x_steps = 4;
    desk.run(1000);
    // Half the target feed: half the feed effect.
    expect(desk.real(OUTPUT_TARGET_V)).toBeCloseTo(122, 1);
    desk.x_steps = 0;
    desk.run(1000);
    expect(desk.real(OUTPUT_TARGET_V)).toBeCloseTo(126, 1);
  });

  it('waits with the allowance as the moving mean delays the voltage: a quarter of a mains period', () => {
    for (const [mains_Hz, delay_ms] of [
      [50, 5],
      [62.5, 4],
    ] as const) {
      const desk = new Desk({ mains_Hz }).ready();
      desk.x_steps = 8;
      desk.run(300);
      desk.x_steps = 0;
      desk.run(10);
      // A first-order lag by the backward rule; f32.
      expect(desk.state('x_delayed_mm_s')).toBeCloseTo(50 * (delay_ms / (delay_ms + 1)) ** 10, 4);
    }
  });
});

describe('a learned target', () => {
  it('is the mean of the voltage at a steady feed', () => {
    // The bench reads in counts of 0.1 V.
    expect(contour(new Desk(LEARN), 6)).toBeCloseTo(CUT_V + 6, 0);
  });

  it('is learned only after the feed has been steady for three time constants and learn_ms', () => {
    const desk = new Desk({ ...LEARN, feed_effect_ms: 100 }).ready().touchOff();
    desk.until('settle');
    desk.x_steps = 8;
    const from = desk.ticks;
    desk.until('follow');
    expect(desk.ticks - from).toBeGreaterThan(300 + 200);
  });

  it('forgets what it had when the feed was not steady for a moment', () => {
    const desk = new Desk(LEARN).ready();
    desk.extra_V = 6;
    desk.touchOff().until('settle');
    const cut = (ticks: number, steps: number) => {
      desk.x_steps = steps;
      desk.run(ticks);
    };
    // Half of learn_ms, then a jolt, then learning again within the 40 mm of path that it may take.
    while (desk.state('learn_ms') < 100) cut(1, 4);
    cut(15, 6);
    expect(desk.mode).toBe('settle');
    expect(desk.state('learn_ms')).toBe(0);
    desk.x_steps = 4;
    desk.until('follow');
    expect(desk.flag(FLAG_TARGET_KEPT)).toBe(false);
    expect(desk.state('base_target_V')).toBeCloseTo(CUT_V + 6, 0);
  });

  it.each([16, -16])('outside learn_band_V is not taken: %i V from what is expected', (extra_V) => {
    const desk = new Desk({ ...LEARN, learn_band_V: 15, transfer_V: 143, gain_p_per_s: 0 }).ready();
    desk.extra_V = extra_V;
    desk.touchOff().until('settle');
    desk.x_steps = 8;
    desk.until('follow');
    expect(desk.state('base_target_V')).toBe(118);
    expect(desk.flag(FLAG_TARGET_KEPT)).toBe(true);
  });

  it('below what was expected is learned at cut height: the torch is not raised before it is known', () => {
    const desk = new Desk({ ...LEARN, learn_band_V: 15, up_band_mm: 1.5 });
    expect(contour(desk, -10)).toBeCloseTo(CUT_V - 10, 0);
  });

  it('outside the band by far lets the torch rise even while learning', () => {
    const desk = new Desk({ ...LEARN, learn_band_V: 15 }).ready();
    desk.extra_V = -28;
    desk.touchOff().until('settle');
    desk.x_steps = 8;
    desk.until('follow');
    expect(desk.standoff_mm).toBeGreaterThan(3);
  });

  it('changes by no more than learn_change_V from one contour to the next', () => {
    const desk = new Desk({ ...LEARN, learn_change_V: 2 });
    const first = contour(desk, 0);
    const second = contour(desk, 8);
    expect(second).toBeCloseTo(first + 2, 4);
    expect(contour(desk, 8)).toBeCloseTo(first + 4, 4);
    expect(contour(desk, -8)).toBeCloseTo(first + 2, 4);
  });

  it('is kept by a contour that never comes to a steady feed, which says so', () => {
    const desk = new Desk(LEARN);
    const first = contour(desk, 5);
    desk.extra_V = 0;
    desk.touchOff().until('settle');
    for (let i = 0; i < 4000 && desk.mode === 'settle'; i++) {
      desk.x_steps = Math.floor(i / 60) % 2 === 0 ? 8 : 3;
      desk.tick();
    }
    expect(desk.mode).toBe('follow');
    expect(desk.state('base_target_V')).toBe(first);
    expect(desk.flag(FLAG_TARGET_KEPT)).toBe(true);
    // 40 mm of path.
    expect(desk.state('settle_path_mm')).toBeGreaterThan(40);
  });

  it('is not learned from a table that stands still', () => {
    const desk = new Desk(LEARN).ready().touchOff().until('settle').run(2000);
    expect(desk.stage).toBe('learn');
    expect(desk.mode).toBe('settle');
  });

  it('brings its own feed, at which it is right, and the feed effect is then learned from the next standstill', () => {
    const desk = new Desk({ ...LEARN, feed_effect_V: 8 });
    contour(desk, 0, 1500, 4);
    expect(1 / desk.state('target_pace_s_per_mm')).toBeCloseTo(25, 0);
    const before = desk.state('feed_effect_V');
    desk.extra_V = 8;
    desk.touchOff().until('settle').run(1);
    expect(desk.state('feed_effect_V')).not.toBe(before);
  });
});

import { describe, expect, it } from 'vitest';
import {
  FLAG_TARGET_KEPT,
  INPUT_KEY,
  INPUT_REQUEST,
  OUTPUT_FOUND_DEVIATION_MM,
  OUTPUT_TARGET_V,
} from '../../firmware/wire/layout.gen.js';
import { ARC, Arcing, FOUND } from './arcing.js';
import { CUT_V, parameterId, Rig, SLOPE_V_PER_MM } from './rig.js';

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

  it('is not trimmed below the least standoff: half of cut height, in volts by the believed slope', () => {
    const rig = new Rig({ trim_V: -10, feed_effect_V: 0 }).at('follow').run(6000);
    expect(rig.real(OUTPUT_TARGET_V)).toBeCloseTo(118 - 0.75 * SLOPE_V_PER_MM, 3);
    expect(rig.standoff_mm).toBeGreaterThan(0.6);
    // The box asks for it; no host does.
    const { trim_in_force } = rig.controller.linked as unknown as { trim_in_force(): number };
    expect(trim_in_force()).toBeCloseTo(-0.75 * SLOPE_V_PER_MM, 3);
  });

  it('knows no slowness beyond the target feed: nothing is extrapolated', () => {
    const rig = new Rig({ feed_effect_V: 8, feed_effect_learned: 0 }).at('follow');
    rig.x_steps = 16;
    rig.run(1500);
    expect(rig.state('slowness')).toBe(0);
    expect(rig.real(OUTPUT_TARGET_V)).toBe(118);
  });
});

describe('a target that is found', () => {
  it('is the arc at the standoff that the touch-off has given, with its feed effect', () => {
    const rig = new Arcing(FOUND).contour();
    expect(rig.found_V).toBeCloseTo(CUT_V + 7, 0);
    expect(rig.state('feed_effect_V')).toBeCloseTo(5, 0);
    expect(rig.real(OUTPUT_FOUND_DEVIATION_MM)).toBeLessThan(0.5);
    expect(Math.abs(rig.error_mm)).toBeLessThan(0.15);
  });

  it('goes on above the target feed with its feed effect, up to twice that', () => {
    // Nothing is learned any more beyond 60 mm of path.
    const rig = new Arcing(FOUND).contour(70);
    const effect_V = rig.state('feed_effect_V');
    expect(effect_V).toBeGreaterThan(4);
    for (const [x_steps, share] of [
      [12, 0.5],
      [24, 1],
    ] as const) {
      rig.x_steps = x_steps;
      rig.run(1000);
      // What is not known of it raises the torch, and is not what is asked here.
      const raised_V = rig.state('doubt_mm') * rig.controller.parameter(parameterId('arc_slope_V_per_mm'));
      expect(rig.found_V + raised_V - rig.real(OUTPUT_TARGET_V)).toBeCloseTo(share * effect_V, 1);
    }
  });

  it('gets better from contour to contour, and knows the lag in the end', () => {
    const rig = new Arcing(FOUND);
    for (let contour = 0; contour < 6; contour++) rig.contour(40).end();
    rig.contour();
    expect(rig.real(OUTPUT_FOUND_DEVIATION_MM)).toBeLessThan(0.25);
    expect(Math.abs(rig.found_V - CUT_V - 7)).toBeLessThan(0.4);
    expect(Math.abs(rig.state('feed_effect_V') - 5)).toBeLessThan(0.5);
    expect(1 / rig.state('Ruler.effect_share')).toBeGreaterThan(60);
    expect(1 / rig.state('Ruler.effect_share')).toBeLessThan(110);
  });

  it('is told apart from a sheet that rises: Z goes by the touched height until it is known', () => {
    const worst_mm = (target_learned: number) => {
      const rig = new Arcing({ ...FOUND, corner_fraction: 0, wrong_way_mm: 5, target_learned });
      rig.tilt = 0.05;
      rig.ready().touchOff().until('settle').run(40);
      // From rest to 50 mm/s in one tick: the worst that a lag can meet.
      rig.x_steps = 8;
      let worst = 0;
      rig.run(1200, () => {
        worst = Math.max(worst, Math.abs(rig.error_mm));
      });
      return worst;
    };
    expect(worst_mm(1)).toBeLessThan(0.6);
    expect(worst_mm(0)).toBeGreaterThan(1.5);
  });

  it('is found at once where another electrode makes it another arc', () => {
    const rig = new Arcing(FOUND);
    for (let contour = 0; contour < 3; contour++) rig.contour(40).end();
    rig.arc = { ...ARC, extra_V: ARC.extra_V - 6 };
    rig.touchOff().until('settle').run(60);
    // At rest only the sum with the feed effect is known.
    expect(Math.abs(rig.found_V + rig.state('feed_effect_V') - (CUT_V + 1 + 5))).toBeLessThan(0.8);
  });

  it('is believed no more than what is told after the key was off, with the mean kept', () => {
    const rig = new Arcing(FOUND).contour().end();
    const known = rig.state('Lag.vv');
    expect(known).toBeLessThan(4);
    const found_V = rig.state('base_target_V');
    rig.off(INPUT_KEY).run(60);
    expect(rig.state('Lag.vv')).toBe(49);
    expect(rig.state('Lag.ff')).toBe(25);
    expect(rig.state('Lag.arc_V')).toBe(found_V);
    expect(rig.state('Lag.effect_V')).toBe(rig.state('feed_effect_V'));
    rig.on(INPUT_KEY).run(5);
    rig.arc = { ...ARC, extra_V: -1, feed_V: 11 };
    rig.contour();
    expect(rig.found_V).toBeCloseTo(CUT_V - 1, -1);
    expect(Math.abs(rig.error_mm - rig.state('doubt_mm'))).toBeLessThan(0.2);
  });

  it('is carried around a small hole by the slope that its start finds, also after a contour that was none', () => {
    const rig = new Arcing(FOUND);
    rig.contour(60).end();
    rig.tilt = 0.06;
    rig.begin();
    rig.x_steps = 2;
    rig.run(200);
    expect(rig.state('Ruler.by_height')).toBe(1);
    expect(rig.state('Ruler.slope_x')).toBeGreaterThan(0.03);
    // The sheet has risen by 0.15 mm in 2.5 mm.
    expect(Math.abs(rig.error_mm)).toBeLessThan(0.1);
  });

  it('takes nothing for the pierce where its dwell is too short to tell: less than ten ticks a tenth', () => {
    const excess_V = (pierce_ms: number) => {
      const rig = new Arcing({ ...FOUND, pierce_ms });
      rig.ready().touchOff().until('pierce');
      // What the pierce brings decays by half in 150 ms.
      for (let tick = 0; tick < 600 && rig.mode === 'pierce'; tick++) {
        rig.arc = { ...ARC, extra_V: ARC.extra_V + 20 * 0.5 ** (tick / 150) };
        rig.tick();
      }
      return rig.until('lower').run(1).state('Ruler.excess_V');
    };
    expect(excess_V(90)).toBe(0);
    expect(excess_V(300)).toBeGreaterThan(0.02);
  });

  it('takes the sheet to rise by 0.03 mm/s under the arc, and by half of that 15 mm away', () => {
    const rig = new Arcing(FOUND);
    const begun = (ms: number) => rig.contour(0).run(ms).state('Ruler.grown_mm');
    rig.begin();
    const standing_mm = rig.state('Ruler.growth_mm');
    expect(standing_mm).toBeGreaterThan(0.015);
    expect(standing_mm).toBeLessThan(0.03);
    expect(rig.state('Ruler.grown_mm')).toBe(standing_mm);
    rig.x_steps = 8;
    rig.run(300);
    expect(rig.state('Ruler.growth_mm')).toBeCloseTo(rig.state('Ruler.grown_mm') / 2, 3);
    rig.end();
    expect(begun(0)).toBeLessThan(standing_mm + 0.01);
  });

  it('begins each contour on the sheet as it was touched: slopes and their covariances of the last are gone', () => {
    const rig = new Arcing(FOUND);
    rig.tilt = 0.06;
    rig.contour(30);
    rig.x_steps = 4;
    rig.run(100);
    expect(Math.abs(rig.state('Lag.slope_x'))).toBeGreaterThan(0.01);
    rig.end();
    rig.x_steps = 0;
    rig.touchOff().until('pierce');
    // What a lag remembers of the feed is of the contour before too.
    expect(rig.state('Lag.slowness')).toBe(0);
    rig.run(30);
    for (const name of ['slope_x', 'slope_y', 'vx', 'vy', 'fx', 'fy', 'xy'])
      expect(rig.state(`Lag.${name}`), name).toBe(0);
    expect(rig.state('Lag.xx')).toBeCloseTo(0.0025, 6);
    expect(rig.state('Ruler.path_mm')).toBe(0);
  });

  it.each([20, -20])('more than learn_band_V from what is told is dropped, and the bound is used: %i V', (extra_V) => {
    const rig = new Arcing({
      ...FOUND,
      gain_p_per_s: 0,
      gain_i_per_s2: 0,
      crossing_rise_mm_per_s: 0,
      crossing_band_mm: 0,
    });
    rig.arc = { extra_V, feed_V: 0, lag_ms: 50 };
    rig.contour(20);
    expect(rig.flag(FLAG_TARGET_KEPT)).toBe(true);
    expect(rig.found_V).toBe(118 + 15 * Math.sign(extra_V));
    rig.end();
    rig.arc = { extra_V: 0, feed_V: 8, lag_ms: 50 };
    rig.contour(20);
    expect(rig.flag(FLAG_TARGET_KEPT)).toBe(false);
    expect(Math.abs(rig.found_V - CUT_V)).toBeLessThan(1);
  });

  it('is not dropped for what may belong to the feed effect: at one slow feed only the sum is known', () => {
    const rig = new Arcing({ ...FOUND, feed_effect_V: 16, learn_band_V: 4, corner_fraction: 0, wrong_way_mm: 5 });
    // 10 V more at the target feed, but 1 V at a quarter of it, where this contour stays.
    rig.arc = { extra_V: 10, feed_V: 4, lag_ms: 50 };
    rig.ready().touchOff().until('settle').run(40);
    rig.x_steps = 2;
    let dropped = 0;
    let most_V = 0;
    rig.run(4000, () => {
      if (rig.flag(FLAG_TARGET_KEPT)) dropped++;
      most_V = Math.max(most_V, rig.found_V);
    });
    expect(most_V).toBeGreaterThan(CUT_V + 4);
    expect(dropped).toBe(0);
  });

  it('says what a crossing of a small hole is only once it is found', () => {
    const rig = new Arcing({ ...FOUND, settle_ms: 0 }).strike().until('settle');
    rig.x_steps = 2;
    // 12 V are 3 mm more than told.
    rig.until('follow').run(15, () => expect(rig.state('Ruler.first') ? rig.hold : 'none').toBe('none'));
  });

  it('a lag pays for a sample that it does not believe', () => {
    const rig = new Arcing({
      ...FOUND,
      gain_p_per_s: 0,
      gain_i_per_s2: 0,
      crossing_rise_mm_per_s: 0,
      crossing_band_mm: 0,
    }).contour(10);
    const weight = rig.state('Lag.log_weight');
    const believed_V = rig.state('Lag.arc_V');
    // Samples that are off by 15 standard deviations and more, for three of 24 ms.
    rig.arc = { ...ARC, extra_V: ARC.extra_V + 25 };
    rig.run(72);
    expect(rig.hold).toBe('none');
    expect(Math.abs(rig.state('Lag.arc_V') - believed_V)).toBeLessThan(0.3);
    expect(rig.state('Lag.log_weight')).toBeLessThan(weight - 3);
  });

  it('learns nothing more after 60 mm of path', () => {
    const rig = new Arcing({ ...FOUND, wrong_way_mm: 5 }).contour(70);
    const found_V = rig.found_V;
    rig.arc = { ...ARC, extra_V: 9 };
    rig.run(500);
    expect(rig.found_V).toBe(found_V);
  });

  it('learns nothing in a crossing and for 60 ms after it', () => {
    const rig = new Arcing(FOUND).contour(10);
    rig.arc = { ...ARC, extra_V: 27 };
    rig.until('hold', 'none', 40);
    expect(rig.hold).toBe('crossing');
    rig.run(20);
    const found_V = rig.found_V;
    rig.run(60);
    expect(rig.found_V).toBe(found_V);
    rig.arc = ARC;
    rig.until('follow', 'none', 200).run(55);
    expect(rig.found_V).toBe(found_V);
    rig.run(60);
    expect(rig.found_V).not.toBe(found_V);
  });

  it('takes what the pierce leaves in the voltage for what it is', () => {
    const rig = new Arcing(FOUND);
    rig.arc = { extra_V: 7, feed_V: 0, lag_ms: 50 };
    rig.ready().touchOff().until('pierce');
    let left_V = 20;
    while (rig.mode !== 'settle') {
      left_V *= Math.exp(-1 / 200);
      rig.arc = { extra_V: 7 + left_V, feed_V: 0, lag_ms: 50 };
      rig.tick();
    }
    // It decays more slowly than is usual; a half of it is seen in the first contour.
    expect(rig.state('Ruler.excess_V')).toBeGreaterThan(0.5 * left_V);
    expect(rig.state('Ruler.excess_V')).toBeLessThan(1.5 * left_V);
  });

  it('lets that fade', () => {
    const rig = new Arcing(FOUND).at('follow').disturb('Ruler.excess_V', 5).disturb('Ruler.excess_share', 0.01);
    rig.run(100);
    expect(rig.state('Ruler.excess_V')).toBeCloseTo(5 * 0.99 ** 100, 3);
    expect(rig.run(1000).state('Ruler.excess_V')).toBe(0);
  });

  it('learns nothing from what changes while the torch stands', () => {
    const rig = new Arcing(FOUND);
    rig.ready().touchOff().until('settle').run(60);
    const found_V = rig.found_V;
    rig.arc = { ...ARC, extra_V: ARC.extra_V - 4 };
    rig.run(400);
    expect(rig.mode).toBe('settle');
    expect(rig.found_V).toBe(found_V);
  });

  it('says nothing of a dwell that was broken off', () => {
    const rig = new Arcing(FOUND);
    rig.arc = { extra_V: 27, feed_V: 0, lag_ms: 50 };
    rig.ready().touchOff().until('pierce').run(220);
    expect(rig.state('Ruler.halves')).toBeGreaterThan(0);
    expect(rig.state('Ruler.halves')).toBeLessThan(6);
    rig.off(INPUT_REQUEST).run(2);
    expect(rig.mode).toBe('retract');
    expect(rig.state('Ruler.excess_V')).toBe(0);
  });

  it.each([-1, 24, 1e6])('finds its place in the cycle again when that was %i', (place) => {
    const rig = new Arcing(FOUND).at('follow').disturb('Ruler.place', place).tick();
    expect(rig.state('Ruler.place')).toBe(1);
  });

  it('waits with Z as the mean delays the voltage', () => {
    const rig = new Arcing(FOUND).at('follow').run(50);
    const before = rig.state('Ruler.z_sum');
    rig.disturb('z', rig.state('z') - 100);
    rig.run(5);
    expect(Math.abs(before - rig.state('Ruler.z_sum'))).toBeGreaterThan(300);
    expect(Math.abs(before - rig.state('Ruler.z_sum'))).toBeLessThan(700);
  });
});

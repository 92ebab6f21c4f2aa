import { describe, expect, it } from 'vitest';
import {
  FLAG_TARGET_KEPT,
  INPUT_KEY,
  INPUT_REQUEST,
  OUTPUT_FOUND_DEVIATION_MM,
  OUTPUT_FOUND_TARGET_V,
  OUTPUT_TARGET_V,
} from '../../firmware/wire/layout.gen.js';
import { CUT_V, Rig, SLOPE_V_PER_MM } from './rig.js';

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
  });

  it('knows no slowness beyond the target feed: nothing is extrapolated', () => {
    const rig = new Rig({ feed_effect_V: 8, feed_effect_learned: 0 }).at('follow');
    rig.x_steps = 16;
    rig.run(1500);
    expect(rig.state('slowness')).toBe(0);
    expect(rig.real(OUTPUT_TARGET_V)).toBe(118);
  });
});

describe('Z in follow', () => {
  it('goes no further below the touched sheet than two thirds of cut height, whatever the allowance', () => {
    const rig = new Rig({ floor_allowance_mm: 5, slope_limit: 0, wrong_way_mm: 5 }).at('follow');
    rig.extra_V = 11;
    rig.run(3000);
    expect(rig.mode).toBe('follow');
    expect(rig.standoff_mm).toBeCloseTo(0.5, 1);
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

/** Another arc than told: 7 V higher, 5 V of feed effect instead of 8, and a lag of 80 ms. */
const ARC = { extra_V: 7, feed_V: 5, lag_ms: 80 };
type Arc = typeof ARC;

/** A rig whose arc feels the feed. Ticks of it go through `step`. */
class Arcing extends Rig {
  arc: Arc = ARC;
  /** Rise of the sheet for each mm along X. */
  tilt = 0;
  private lagged = 1;
  private x_mm = 0;
  override tick(): this {
    const slow = 1 - Math.min(1, this.x_steps / 8);
    this.lagged += (slow - this.lagged) / (1 + this.arc.lag_ms);
    this.x_mm += this.x_steps / 160;
    this.extra_V = this.arc.extra_V + this.arc.feed_V * this.lagged - this.tilt * this.x_mm * SLOPE_V_PER_MM;
    return super.tick();
  }
  /** A contour of so many mm at 50 mm/s after a start at 25; ends in follow. */
  contour(path_mm = 60): this {
    this.x_steps = 0;
    this.x_mm = 0;
    if (this.state('armed') === 0) this.ready();
    this.touchOff().until('settle');
    this.run(40);
    this.x_steps = 4;
    this.run(200);
    this.x_steps = 8;
    return this.run(path_mm * 20);
  }
  end(): this {
    this.off(INPUT_REQUEST);
    this.x_steps = 0;
    return this.until('rest').run(40);
  }
  get found_V(): number {
    return this.real(OUTPUT_FOUND_TARGET_V);
  }
  /** True standoff less cut height: the tilt is the sheet's. */
  get error_mm(): number {
    return this.standoff_mm - this.tilt * this.x_mm - 1.5;
  }
}

const FOUND = { target_learned: 1, feed_effect_V: 8, transfer_V: 144, arc_high_V: 190 };

describe('a target that is found', () => {
  it('is the arc at the standoff that the touch-off has given, with its feed effect', () => {
    const rig = new Arcing(FOUND).contour();
    expect(rig.found_V).toBeCloseTo(CUT_V + 7, 0);
    expect(rig.state('feed_effect_V')).toBeCloseTo(5, 0);
    expect(rig.real(OUTPUT_FOUND_DEVIATION_MM)).toBeLessThan(0.5);
    expect(Math.abs(rig.error_mm)).toBeLessThan(0.15);
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
    expect(Math.abs(rig.error_mm)).toBeLessThan(0.2);
  });

  it('begins each contour on the sheet as it was touched: slopes and their covariances of the last are gone', () => {
    const rig = new Arcing(FOUND);
    rig.tilt = 0.06;
    rig.contour(30);
    expect(Math.abs(rig.state('Lag.slope_x'))).toBeGreaterThan(0.01);
    rig.end();
    rig.x_steps = 0;
    rig.touchOff().until('pierce').run(30);
    for (const name of ['slope_x', 'slope_y', 'vx', 'vy', 'fx', 'fy', 'xy'])
      expect(rig.state(`Lag.${name}`), name).toBe(0);
    expect(rig.state('Lag.xx')).toBeCloseTo(0.0025, 6);
    expect(rig.state('Ruler.path_mm')).toBe(0);
  });

  it.each([16, -16])('more than learn_band_V from what is told is dropped: %i V', (extra_V) => {
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
    expect(rig.found_V).toBe(118);
    expect(rig.state('feed_effect_V')).toBe(8);
    rig.end();
    rig.arc = { extra_V: 0, feed_V: 8, lag_ms: 50 };
    rig.contour(20);
    expect(rig.flag(FLAG_TARGET_KEPT)).toBe(false);
    expect(Math.abs(rig.found_V - CUT_V)).toBeLessThan(1);
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

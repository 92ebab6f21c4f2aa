import { describe, expect, it } from 'vitest';
import { INPUT_HOLD, INPUT_REQUEST, OUTPUT_Z_VELOCITY_MM_S } from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

/** Following at 50 mm/s along X, long enough for the running feed to be known. */
const following = (parameters: Readonly<Record<string, number>> = {}): Rig =>
  new Rig({ feed_effect_V: 0, ...parameters }).at('follow').run(600);

/** Sets the feed along X in steps a tick; 8 is 50 mm/s. */
const feed = (rig: Rig, steps: number): Rig => {
  rig.x_steps = steps;
  return rig;
};

describe('an external hold', () => {
  it('lasts as long as the input and comes before every other cause', () => {
    const rig = following();
    rig.on(INPUT_HOLD).run(3);
    expect(rig.hold).toBe('external');
    feed(rig, 2).run(300);
    expect(rig.hold).toBe('external');
    feed(rig, 8).run(300).off(INPUT_HOLD).run(3);
    expect(rig.mode).toBe('follow');
  });

  it('ends after external_path_mm of the contour, the pieces added up; then Z goes down slowly only', () => {
    const rig = following({ external_path_mm: 12, hold_carried: 0 });
    rig.on(INPUT_HOLD).run(120).off(INPUT_HOLD).run(50).on(INPUT_HOLD);
    // 50 mm/s: 6 mm in the first piece, the rest of 12 mm in the second.
    rig.run(110, () => {
      rig.sheet_mm -= 0.01;
    });
    expect([rig.mode, rig.hold]).toEqual(['hold', 'external']);
    rig.run(30);
    expect([rig.mode, rig.hold]).toEqual(['follow', 'limited']);
    rig.run(400, () => expect(rig.real(OUTPUT_Z_VELOCITY_MM_S)).toBeGreaterThan(-2.001));
    expect(rig.standoff_mm).toBeLessThan(2.1);
    expect(rig.hold).toBe('limited');
  });

  it('has its whole path again in the next contour', () => {
    const rig = following({ external_path_mm: 12 });
    rig.on(INPUT_HOLD).run(400);
    expect(rig.mode).toBe('follow');
    feed(rig.off(INPUT_HOLD, INPUT_REQUEST), 0).run(2000);
    rig.on(INPUT_REQUEST).at('follow').run(100).on(INPUT_HOLD).run(100);
    expect([rig.mode, rig.hold]).toEqual(['hold', 'external']);
  });
});

describe('a corner', () => {
  /** @returns how far Z went up and down in a corner of 120 ms, after which the sheet has come nearer by this, mm */
  function corner(nearer_mm: number, parameters: Readonly<Record<string, number>>) {
    const rig = new Rig({ hold_carried: 0, ...parameters }).at('follow').run(1500);
    rig.disturb('Ruler.by_height', 0).disturb('Ruler.deviation_mm', 0.05);
    feed(rig, 2).run(20);
    expect(rig.hold).toBe('corner');
    const from_mm = rig.z_mm;
    rig.sheet_mm += nearer_mm;
    let up_mm = 0;
    let down_mm = 0;
    rig.run(120, () => {
      up_mm = Math.max(up_mm, rig.z_mm - from_mm);
      down_mm = Math.max(down_mm, from_mm - rig.z_mm);
    });
    expect(rig.hold).toBe('corner');
    return { up_mm, down_mm };
  }
  const FOUND = { target_learned: 1, feed_effect_V: 8 };

  it('lets Z rise under a target that was found, by what the voltage says; never down', () => {
    const near = corner(0.4, FOUND);
    expect(near.up_mm).toBeGreaterThan(0.2);
    expect(near.up_mm).toBeLessThan(0.5);
    expect(corner(-0.4, FOUND).down_mm).toBeLessThan(0.02);
  });

  it('does not for what the target may be off, nor under one that was told', () => {
    expect(corner(0.05, FOUND).up_mm).toBeLessThan(0.02);
    expect(corner(0.4, { feed_effect_V: 0 }).up_mm).toBeLessThan(0.02);
  });
});

describe('Z in a hold', () => {
  it('does not go down for any voltage', () => {
    const rig = following({ hold_carried: 0 }).on(INPUT_HOLD).run(10);
    rig.sheet_mm -= 2;
    rig.run(300, () => expect(rig.z_steps).toBe(0));
    expect(rig.mode).toBe('hold');
  });

  it('rises when the arc is shorter than wanted by more than up_band_mm', () => {
    const rig = following({ up_band_mm: 0.5, external_path_mm: 100 }).on(INPUT_HOLD).run(10);
    const z_mm = rig.z_mm;
    rig.sheet_mm += 0.4;
    rig.run(300);
    expect(rig.z_mm).toBeCloseTo(z_mm, 2);
    rig.sheet_mm += 0.6;
    rig.run(300);
    expect(rig.z_mm - z_mm).toBeGreaterThan(0.4);
    expect(rig.z_mm - z_mm).toBeLessThan(0.6);
  });

  it('is carried along the slope of the sheet, or frozen', () => {
    for (const [hold_carried, travelled_mm] of [
      [1, 0.5],
      [0, 0],
    ] as const) {
      const rig = new Rig({ hold_carried, feed_effect_V: 0 }).at('follow');
      // 5 % uphill at 50 mm/s is 2.5 mm/s.
      const uphill = () => {
        rig.sheet_mm += 0.0025;
      };
      rig.run(1200, uphill).on(INPUT_HOLD).run(40, uphill);
      const z_mm = rig.z_mm;
      rig.run(200, uphill);
      expect(rig.mode).toBe('hold');
      expect(Math.abs(rig.z_mm - z_mm - travelled_mm)).toBeLessThan(0.05);
    }
  });

  it('is carried along Y as along X', () => {
    const rig = new Rig({ feed_effect_V: 0 }).at('hold');
    rig.x_steps = 0;
    rig.y_steps = 8;
    rig.run(20, () => rig.disturb('slope_y', 0.05));
    expect(rig.real(OUTPUT_Z_VELOCITY_MM_S)).toBeCloseTo(2.5, 3);
  });

  it('is never carried below the floor', () => {
    const rig = new Rig({ feed_effect_V: 0, floor_allowance_mm: 0.3, slope_limit: 0, external_path_mm: 100 })
      .at('follow')
      .run(300);
    rig.on(INPUT_HOLD);
    const floor_mm = rig.state('z_touched') / 400 + 1.5 - 0.3;
    // A slope that was never there: 10 mm/s down, the most that follow_down_mm_s lets through.
    rig.run(600, () => {
      rig.disturb('slope_x', -0.5);
      // The ramp from 10 mm/s at 1500 mm/s² is 0.03 mm long.
      expect(rig.z_mm).toBeGreaterThan(floor_mm - 0.06);
    });
    expect(rig.z_mm).toBeLessThan(floor_mm + 0.01);
    expect(rig.mode).toBe('hold');
  });

  it('is carried down no faster than follow_down_mm_s and up no faster than the axis', () => {
    for (const [slope, limit] of [
      [0.5, 12],
      [-0.5, -4],
    ] as const) {
      const rig = new Rig({ z_velocity_mm_s: 12, follow_down_mm_s: 4, floor_allowance_mm: 5, slope_limit: 0.5 });
      rig.at('follow').on(INPUT_HOLD).run(5);
      rig.run(30, () => rig.disturb('slope_x', slope));
      expect(rig.real(OUTPUT_Z_VELOCITY_MM_S)).toBeCloseTo(limit, 4);
    }
  });
});

describe('a low voltage in a hold', () => {
  it('adds nothing to a slope that already leads up faster', () => {
    const rig = new Rig({ feed_effect_V: 0 }).at('hold');
    // 0.2 mm below the band, which half of cut height bounds.
    rig.extra_V = -0.95 * 4;
    let fastest_mm_s = 0;
    rig.run(60, () => {
      rig.disturb('slope_x', 0.1);
      fastest_mm_s = Math.max(fastest_mm_s, rig.real(OUTPUT_Z_VELOCITY_MM_S));
    });
    expect(fastest_mm_s).toBeCloseTo(5, 2);
  });
});

describe('re-entry from a hold', () => {
  it('is without a bump: the standoff stays within a tenth of a millimetre on a slope', () => {
    const rig = new Rig({ feed_effect_V: 0 }).at('follow');
    const uphill = () => {
      rig.sheet_mm += 0.0015;
    };
    rig.run(1500, uphill).on(INPUT_HOLD).run(300, uphill).off(INPUT_HOLD);
    rig.run(400, () => {
      uphill();
      expect(Math.abs(rig.standoff_mm - 1.5)).toBeLessThan(0.1);
    });
  });

  it('starts from the error and the speed as they are, not from what is remembered', () => {
    const rig = following({ smoothing_ms: 50 }).on(INPUT_HOLD).run(10);
    rig.disturb('slope_x', -0.05).disturb('integral_mm_s', 1.5);
    rig.extra_V = 2;
    rig.run(40).off(INPUT_HOLD).until('follow', 'none', 5);
    expect(rig.state('error_filtered_mm')).toBe(rig.state('error_mm'));
    expect(rig.state('integral_mm_s')).toBe(-rig.real(OUTPUT_Z_VELOCITY_MM_S));
    expect(rig.state('integral_mm_s')).toBeCloseTo(2.5, 1);
  });

  it('keeps the integrator of a frozen hold', () => {
    const rig = new Rig({ feed_effect_V: 0, hold_carried: 0 }).at('follow').run(500).on(INPUT_HOLD).run(10);
    rig.disturb('integral_mm_s', 1.5).run(100);
    expect(rig.state('integral_mm_s')).toBe(1.5);
  });
});

describe('the slope in a hold', () => {
  const carried = (extra_V: number) => {
    const rig = new Rig({ feed_effect_V: 0 }).at('hold');
    const z_mm = rig.z_mm;
    rig.extra_V = extra_V;
    rig.run(200, () => {
      rig.disturb('slope_x', -0.1);
    });
    return rig.z_mm - z_mm;
  };

  it('carries Z down by a fifth of cut height at most', () => {
    // 10 mm of path would be 1 mm.
    expect(carried(0)).toBeGreaterThan(-0.36);
    expect(carried(0)).toBeLessThan(-0.24);
  });

  it('does not carry it down where it seems too low by a quarter of cut height', () => {
    expect(carried(-2)).toBeGreaterThan(-0.1);
  });
});

describe('the ceiling of a hold', () => {
  it('is that of follow: cut height and both allowances over a level sheet', () => {
    const rig = new Rig({ slope_limit: 0, external_path_mm: 1000, arc_low_V: 40 }).at('hold');
    rig.extra_V = -24;
    rig.run(3000);
    expect(rig.mode).toBe('hold');
    expect(rig.standoff_mm).toBeGreaterThan(3.6);
    expect(rig.standoff_mm).toBeLessThan(3.7 + 40 ** 2 / 3000 + 0.05);
  });
});

describe('the floor of follow', () => {
  it.each([
    [0, 0],
    [1, -1.5],
  ])('%i steps above it Z at rest begins to go down with %f mm/s', (steps, velocity_mm_s) => {
    const rig = new Rig({ feed_effect_V: 0, floor_allowance_mm: 0.5, slope_limit: 0 }).at('follow');
    rig
      .disturb('z', rig.state('z_touched') + 400 + steps)
      .disturb('velocity_mm_s', 0)
      .disturb('integral_mm_s', 0);
    rig.disturb('error_filtered_mm', 0.5).tick();
    expect(rig.real(OUTPUT_Z_VELOCITY_MM_S)).toBeCloseTo(velocity_mm_s, 4);
  });

  it('lies below cut height by the allowance and the steepest sheet along the path', () => {
    const rig = new Rig({ feed_effect_V: 0, floor_allowance_mm: 0.1, slope_limit: 0, wrong_way_mm: 5 }).at('follow');
    rig.sheet_mm -= 2;
    rig.run(1500);
    const floor_mm = rig.state('z_touched') / 400 + 1.5 - 0.1;
    expect(Math.abs(rig.z_mm - floor_mm)).toBeLessThan(0.06);
    expect(rig.mode).toBe('follow');
  });
});

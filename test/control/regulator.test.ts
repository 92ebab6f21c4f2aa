import { describe, expect, it } from 'vitest';
import {
  FLAG_ACCELERATION_LIMITED,
  FLAG_VELOCITY_LIMITED,
  OUTPUT_MEASURED_ERROR_MM,
  OUTPUT_Z_VELOCITY_MM_S,
} from '../../firmware/wire/layout.gen.js';
import { CUT_V, Rig, SLOPE_V_PER_MM } from './rig.js';

/** No lockout, no feed effect, no floor in the way: the bare regulator. */
const BARE = {
  feed_effect_V: 0,
  corner_fraction: 0,
  crossing_rise_mm_per_s: 0,
  crossing_band_mm: 0,
  reversal_um: 0,
  floor_allowance_mm: 5,
  slope_limit: 0.5,
  wrong_way_mm: 5,
  dive_mm: 50,
  spike_V: 0,
  stuck_ms: 0,
  smoothing_ms: 0,
};

/** Following with a voltage set by hand, after everything has come to rest at the target. */
function bare(parameters: Readonly<Record<string, number>> = {}): Rig {
  const rig = new Rig({ ...BARE, ...parameters }).at('follow').run(200);
  rig.plant = false;
  rig.alive = false;
  rig.true_V = CUT_V;
  return rig.run(400);
}
const velocity = (rig: Rig) => rig.real(OUTPUT_Z_VELOCITY_MM_S);
/** Downward speed in steady state for a constant error without the integral: a step, then 30 ms. */
const countedError_mm = (rig: Rig) => rig.real(OUTPUT_MEASURED_ERROR_MM);

describe('the regulator', () => {
  it.each([5, 20, 40])('moves at gain_p = %i times the error, against it', (gain_p_per_s) => {
    const rig = bare({ gain_p_per_s, gain_i_per_s2: 0, tracking_ms: 2000 });
    for (const error_mm of [0.2, -0.2]) {
      rig.disturb('integral_mm_s', 0);
      rig.true_V = CUT_V + error_mm * SLOPE_V_PER_MM;
      rig.run(15);
      rig.disturb('integral_mm_s', 0).tick();
      // f32 arithmetic, nothing else: the error is taken as the box sees it.
      expect(velocity(rig)).toBeCloseTo(-gain_p_per_s * countedError_mm(rig), 4);
    }
  });

  it('has the same gain in mm for an arc of another slope', () => {
    const speeds = [1, 4, 8].map((arc_slope_V_per_mm) => {
      const rig = bare({ arc_slope_V_per_mm, gain_i_per_s2: 0, tracking_ms: 2000 });
      rig.true_V = CUT_V + 0.25 * arc_slope_V_per_mm;
      rig.run(15).disturb('integral_mm_s', 0).tick();
      return velocity(rig) / countedError_mm(rig);
    });
    for (const speed of speeds) expect(speed).toBeCloseTo(-22, 3);
  });

  it.each([
    [0, 1.5, 3],
    [4, 1.25, 2],
    [8, 1, 1],
  ])(
    'goes up by more over the first 8 mm of a contour, but not down: at %d mm times %d, integral %d',
    (path_mm, more_p, more_i) => {
      for (const error_mm of [-0.2, 0.2]) {
        const rig = bare({ gain_p_per_s: 20, gain_i_per_s2: 100, tracking_ms: 2000 });
        rig.true_V = CUT_V + error_mm * SLOPE_V_PER_MM;
        rig.run(15);
        // Z may need some ticks to take up more speed.
        for (let tick = 0; tick < 3; tick++) rig.disturb('integral_mm_s', 0).disturb('cut_path_mm', path_mm).tick();
        const seen_mm = countedError_mm(rig);
        expect(velocity(rig)).toBeCloseTo(-20 * (error_mm < 0 ? more_p : 1) * seen_mm, 1);
        expect(rig.state('integral_mm_s')).toBeCloseTo(0.1 * (error_mm < 0 ? more_i : 1) * seen_mm, 3);
      }
    },
  );

  it('integrates gain_i times the error', () => {
    const rig = bare({ gain_p_per_s: 0, gain_i_per_s2: 100 });
    rig.true_V = CUT_V + 0.1 * SLOPE_V_PER_MM;
    rig.run(20);
    const from = rig.state('integral_mm_s');
    let sum_mm_s = 0;
    for (let tick = 0; tick < 200; tick++) sum_mm_s += countedError_mm(rig.run(1)) * 0.001;
    expect(sum_mm_s).toBeGreaterThan(0.019);
    expect(rig.state('integral_mm_s') - from).toBeCloseTo(100 * sum_mm_s, 3);
    expect(velocity(rig)).toBeCloseTo(-rig.state('integral_mm_s'), 1);
  });

  it('with gain_d resists the rate of the measurement, and is quiet when that stands still', () => {
    const rig = bare({ gain_p_per_s: 0, gain_i_per_s2: 0, gain_d: 0.5, tracking_ms: 2000 });
    for (let i = 0; i < 100; i++) {
      rig.true_V = CUT_V + (i * 0.001 * SLOPE_V_PER_MM) / 0.5;
      rig.disturb('integral_mm_s', 0).tick();
    }
    // 2 mm/s of lengthening, so 1 mm/s downwards; one count in the mean of 100 readings is 1 µm.
    expect(velocity(rig)).toBeCloseTo(-1, 0);
    rig.run(150, () => rig.disturb('integral_mm_s', 0));
    expect(Math.abs(velocity(rig))).toBeLessThan(0.01);
  });

  it('smooths the error by smoothing_ms, by the backward rule', () => {
    const rig = bare({ smoothing_ms: 20, gain_p_per_s: 0, gain_i_per_s2: 0 });
    let expected = rig.state('error_filtered_mm');
    rig.true_V = CUT_V + 0.5;
    for (let i = 0; i < 60; i++) {
      rig.tick();
      expected += (rig.state('error_mm') - expected) / (1 + 20);
      expect(rig.state('error_filtered_mm')).toBeCloseTo(expected, 5);
    }
  });
});

describe('anti-windup', () => {
  // Åström–Hägglund, Advanced PID Control (check-values: seen): in held saturation u − u_sat → K·e·Tt/Ti.
  it.each([
    [22, 160, 100],
    [20, 100, 50],
    [10, 100, 150],
  ])('leads u − u_sat to K·e·Tt/Ti in held saturation (P %i, I %i, Tt %i ms)', (gain_p, gain_i, tracking_ms) => {
    const rig = bare({ gain_p_per_s: gain_p, gain_i_per_s2: gain_i, tracking_ms, follow_down_mm_s: 0.5 });
    rig.true_V = CUT_V + 0.4 * SLOPE_V_PER_MM;
    rig.run(20 + 12 * tracking_ms);
    expect(rig.mode).toBe('follow');
    expect(rig.flag(FLAG_VELOCITY_LIMITED)).toBe(true);
    const error_mm = countedError_mm(rig);
    const wanted = gain_p * error_mm + rig.state('integral_mm_s');
    const integral_time_s = gain_p / gain_i;
    const excess = (gain_p * error_mm * (tracking_ms / 1000)) / integral_time_s;
    // Twelve time constants leave 6e-6 of the way; the tick is 1/tracking of the last of them.
    expect(wanted - 0.5).toBeCloseTo(excess, 1);
  });

  it('so a long saturation is left without overshoot', () => {
    const overshoot = (tracking_ms: number) => {
      const rig = new Rig({ ...BARE, tracking_ms, follow_down_mm_s: 1, gain_i_per_s2: 160 }).at('follow').run(300);
      rig.sheet_mm -= 1;
      let least = 10;
      rig.run(4000, () => {
        least = Math.min(least, rig.standoff_mm);
      });
      expect(rig.standoff_mm).toBeCloseTo(1.5, 1);
      return 1.5 - least;
    };
    expect(overshoot(100)).toBeLessThan(0.1);
    expect(overshoot(2000)).toBeGreaterThan(2 * overshoot(100));
  });

  it('keeps the integral within the velocity of the axis', () => {
    const rig = bare({ gain_p_per_s: 0, gain_i_per_s2: 2000, tracking_ms: 2000, z_velocity_mm_s: 10 });
    rig.sheet_mm = -100;
    rig.true_V = CUT_V - 12;
    for (let i = 0; i < 300 && rig.mode === 'follow'; i++) {
      rig.tick();
      expect(Math.abs(rig.state('integral_mm_s'))).toBeLessThanOrEqual(10);
    }
  });
});

describe('limits', () => {
  it('of speed: follow_down_mm_s downwards, z_velocity_mm_s upwards', () => {
    for (const [error_mm, limit] of [
      [3, -4],
      [-3, 12],
    ] as const) {
      const rig = bare({ follow_down_mm_s: 4, z_velocity_mm_s: 12, gain_p_per_s: 20 });
      rig.true_V = CUT_V + error_mm * SLOPE_V_PER_MM;
      rig.run(60);
      expect(rig.mode).toBe('follow');
      expect(velocity(rig)).toBeCloseTo(limit, 5);
      expect(rig.flag(FLAG_VELOCITY_LIMITED)).toBe(true);
    }
  });

  it('of acceleration, in both directions, also when following begins and ends', () => {
    const rig = new Rig({ z_acceleration_mm_s2: 200, feed_effect_V: 0 }).at('follow');
    let before = velocity(rig);
    let limited = 0;
    for (let i = 0; i < 2500; i++) {
      if (i % 300 === 0) rig.sheet_mm += i % 600 === 0 ? 0.4 : -0.4;
      if (i === 2000) rig.off(2);
      rig.tick();
      // 200 mm/s² is 0.2 mm/s a tick.
      expect(Math.abs(velocity(rig) - before)).toBeLessThanOrEqual(0.2 + 1e-5);
      if (rig.flag(FLAG_ACCELERATION_LIMITED)) limited++;
      before = velocity(rig);
    }
    expect(limited).toBeGreaterThan(10);
  });

  it('loses no fraction of a step: the steps of a slow move add up to its speed', () => {
    const rig = bare({ gain_p_per_s: 0, gain_i_per_s2: 0, tracking_ms: 2000, z_steps_per_mm: 37 });
    const from = rig.state('z');
    // 0.5 mm/s at 37 steps/mm is 0.0185 steps a tick.
    rig.run(10_000, () => rig.disturb('integral_mm_s', 0.5));
    expect(rig.state('z') - from).toBeGreaterThanOrEqual(-186);
    expect(rig.state('z') - from).toBeLessThanOrEqual(-183);
  });

  it('turns Z round only after reversal_um of opposite travel', () => {
    const rig = bare({ gain_p_per_s: 0, gain_i_per_s2: 0, tracking_ms: 2000, reversal_um: 100 });
    rig.run(200, () => rig.disturb('integral_mm_s', 2));
    const low = rig.state('z');
    // 100 µm at 2 mm/s is 50 ms; the velocity ramp of 1500 mm/s² takes 3 ms of it.
    rig.run(48, () => rig.disturb('integral_mm_s', -2));
    expect(rig.state('z')).toBeLessThanOrEqual(low);
    rig.run(10, () => rig.disturb('integral_mm_s', -2));
    expect(rig.state('z')).toBeGreaterThan(low);
  });

  it('emits no jump of what the play kept back when following ends, in whatever way', () => {
    const ends: ((rig: Rig) => unknown)[] = [
      (rig) => rig.off(2),
      (rig) => rig.off(4),
      (rig) => rig.off(16),
      (rig) => {
        rig.arc_burns = false;
      },
    ];
    for (const end of ends) {
      const rig = new Rig({ reversal_um: 100, feed_effect_V: 0 }).at('follow');
      rig.sheet_mm += 0.04;
      rig.run(300).disturb('pending', 19);
      end(rig);
      for (let i = 0; i < 400; i++) {
        rig.tick();
        const speed_steps = Math.abs(velocity(rig)) * 0.4;
        expect(Math.abs(rig.z_steps)).toBeLessThanOrEqual(speed_steps + 3);
      }
    }
  });
});

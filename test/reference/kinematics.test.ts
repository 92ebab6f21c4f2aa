/** Elementary mechanics; the figures were worked out by a second program (status: computed). */
import { describe, expect, it } from 'vitest';
import {
  circleSpeed_mm_s,
  MotionPlayer,
  MotionState,
  parseProgram,
  peakSpeed_mm_s,
  planProgram,
  trapezoid,
} from '../../sim/world/motion/index.js';

const FAR_ABOVE_MM_S = 1e6;

describe('a move from rest to rest with a = 2, b = 4, D = 100', () => {
  it('peaks at √(2abD/(a + b)) = 16.330', () => {
    expect(peakSpeed_mm_s(0, 0, 2, 4, 100)).toBeCloseTo(16.33, 3);
  });

  it('takes 12.247', () => {
    const profile = trapezoid(0, 0, FAR_ABOVE_MM_S, 2, 4, 100);
    // Three decimals are given.
    expect(profile.accelerate_s + profile.cruise_s + profile.brake_s).toBeCloseTo(12.247, 3);
    expect(profile.peak_mm_s).toBeCloseTo(16.33, 3);
  });

  it('takes as long, planned and driven', () => {
    const limits = {
      acceleration_mm_s2: 2,
      braking_mm_s2: 4,
      rapid_mm_s: 1000,
      corner_velocity_step_mm_s: 10,
    };
    const plan = planProgram(parseProgram('G21 G0 X100\nM2', 'move.nc'), limits);
    const player = new MotionPlayer(plan, { steps_per_mm: 100 });
    let ticks = 0;
    let peak_mm_s = 0;
    while (player.table.state < MotionState.stopped) {
      player.advance(true);
      ticks++;
      peak_mm_s = Math.max(peak_mm_s, player.table.feed_mm_s);
    }
    expect(ticks).toBe(12_248);
    // The peak lies within a tick: half a tick of braking off at most.
    expect(peak_mm_s).toBeGreaterThan(16.33 - 0.004);
    expect(peak_mm_s).toBeLessThan(16.331);
  });
});

describe('motion on a circle', () => {
  it('of 10 mm radius at 1000 mm/s² is limited to √(a·r) = 100 mm/s', () => {
    expect(circleSpeed_mm_s(1000, 10)).toBe(100);
    const limits = {
      acceleration_mm_s2: 1000,
      braking_mm_s2: 1000,
      rapid_mm_s: 500,
      corner_velocity_step_mm_s: 10,
    };
    const plan = planProgram(parseProgram('G21 G3 I10 F30000\nM2', 'circle.nc'), limits);
    expect(plan.steps.peak_mm_s[0]).toBeCloseTo(100, 9);
  });
});

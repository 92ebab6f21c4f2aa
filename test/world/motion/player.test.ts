import { describe, expect, it } from 'vitest';
import { StandoffError } from '../../../sim/base/index.js';
import { MotionPlayer, MotionState } from '../../../sim/world/motion/index.js';
import { LIMITS, planOf, playerOf, runThrough } from './support.js';

const HEAD = 'G21 G90 F3000';

describe('driving a plan', () => {
  it('takes as long as planned, to the tick', () => {
    const plan = planOf([HEAD, 'G1 X100', 'Y50', 'X0', 'M30']);
    const ticks = runThrough(new MotionPlayer(plan, { steps_per_mm: 100 }));
    expect(ticks).toBe(Math.ceil(plan.duration_s * 1000));
  });

  it('follows the speed of the trapezoid', () => {
    const player = playerOf([HEAD, 'G1 X100', 'M30']);
    player.advance(true);
    expect(player.table.feed_mm_s).toBeCloseTo(1, 12);
    expect(player.table.x_mm).toBeCloseTo(0.0005, 12);
    for (let tick = 0; tick < 99; tick++) player.advance(true);
    expect(player.table.feed_mm_s).toBe(50);
    expect(player.table.x_mm).toBeCloseTo(1.25 + 50 * 0.05, 12);
    expect(player.move.programmed_mm_s).toBe(50);
    expect(player.table.line).toBe(2);
  });

  it('stands at the origin of G54 before it moves, and counts no steps to get there', () => {
    const plan = planOf([HEAD, 'M3', 'G1 X50', 'M30'], LIMITS, { G54_x_mm: 30, G54_y_mm: 40 });
    const player = new MotionPlayer(plan, { steps_per_mm: 100 });
    const { table } = player;
    expect(table).toMatchObject({ x_mm: 30, y_mm: 40 });
    let x_steps = 0;
    let y_steps = 0;
    runThrough(player, () => {
      x_steps += table.x_steps;
      y_steps += table.y_steps;
      expect(table.y_mm).toBe(40);
    });
    expect(x_steps).toBe(5000);
    expect(y_steps).toBe(0);
  });

  it('keeps to the circle and its tangent, either way round', () => {
    for (const [code, turn] of [
      ['G3', 1],
      ['G2', -1],
    ] as const) {
      const player = playerOf([HEAD, 'G0 X10', `${code} I-10 F3000`, 'M30']);
      let seen = 0;
      runThrough(player, () => {
        if (player.table.line !== 3) return;
        seen++;
        // Rounding of lengths of 10 mm.
        expect(Math.abs(Math.sqrt(player.table.x_mm ** 2 + player.table.y_mm ** 2) - 10)).toBeLessThan(1e-13);
        expect(player.table.dx).toBeCloseTo((-turn * player.table.y_mm) / 10, 12);
        expect(player.table.dy).toBeCloseTo((turn * player.table.x_mm) / 10, 12);
      });
      expect(seen).toBeGreaterThan(1000);
      expect(player.table.x_mm).toBeCloseTo(10, 12);
      expect(player.table.y_mm).toBeCloseTo(0, 12);
    }
  });

  it('goes on without a jump where the radii of an arc differ within the tolerance', () => {
    const player = playerOf([HEAD, 'G0 X10', 'G3 X0 Y10.0015 I-10 J0', 'G1 X-10', 'M30']);
    let on_arc = 0;
    let x_mm = player.table.x_mm;
    let y_mm = player.table.y_mm;
    runThrough(player, () => {
      const moved_mm = Math.sqrt((player.table.x_mm - x_mm) ** 2 + (player.table.y_mm - y_mm) ** 2);
      // One tick at the rapid speed.
      expect(moved_mm).toBeLessThanOrEqual(0.2 + 1e-9);
      x_mm = player.table.x_mm;
      y_mm = player.table.y_mm;
      if (player.table.line === 3 && player.table.feed_mm_s > 0) {
        const radius_mm = Math.sqrt(player.table.x_mm ** 2 + player.table.y_mm ** 2);
        // The radius grows with the angle, which is the share of the quarter circle's length.
        const share = (2 / Math.PI) * Math.atan2(player.table.y_mm, player.table.x_mm);
        expect(radius_mm).toBeCloseTo(10 + 0.0015 * share, 9);
        on_arc++;
      }
      if (player.table.line === 4 && player.table.x_mm > -9) expect(player.table.y_mm).toBe(10.0015);
    });
    expect(on_arc).toBeGreaterThan(300);
    expect(player.table.x_mm).toBe(-10);
  });

  it('waits out a dwell with the torch off and tells the time that is left', () => {
    const player = playerOf([HEAD, 'G4 P0.5', 'G1 X50', 'M30']);
    player.advance(true);
    expect(player.table.state).toBe(MotionState.dwelling);
    expect(player.remaining_s).toBeCloseTo(0.499 + 1.05, 12);
    for (let tick = 0; tick < 500; tick++) player.advance(true);
    expect(player.table.state).toBe(MotionState.running);
    expect(player.table.x_mm).toBeCloseTo(0.0005, 9);
    expect(player.progress).toBeCloseTo(0.501 / 1.55, 9);
    runThrough(player);
    expect([player.remaining_s, player.progress]).toEqual([0, 1]);
    expect(player.table).toMatchObject({ state: MotionState.finished, feed_mm_s: 0 });
  });

  it('shows each change of the torch request for a tick at least', () => {
    const player = playerOf(['M3', 'M5', 'M3', 'M5', 'M30']);
    const requests: number[] = [];
    runThrough(player, () => requests.push(player.table.torch_request));
    expect(requests).toEqual([1, 0, 1, 0, 0]);
    expect(player.table.contour).toBe(1);
  });

  it('counts contours and the path with the torch requested, not the rapids', () => {
    const player = playerOf([HEAD, 'G0 X50', 'M3', 'G1 X60', 'M5', 'G0 X0', 'M3', 'G1 X5', 'M30']);
    expect(player.table.contour).toBe(-1);
    let rapid_path_mm = -1;
    runThrough(player, () => {
      if (player.table.line === 6) rapid_path_mm = player.table.path_mm;
    });
    expect(rapid_path_mm).toBe(10);
    expect(player.table.contour).toBe(1);
    expect(player.table.path_mm).toBe(15);
    expect(player.table.torch_request).toBe(0);
  });

  it('tells the path to the nearest corner of the contour', () => {
    const player = playerOf([HEAD, 'M3', 'G1 X20', 'Y40', 'X0', 'M5', 'G0 X100', 'M3', 'G1 X110', 'M5', 'M30']);
    expect(player.table.corner_mm).toBe(Number.POSITIVE_INFINITY);
    let seen = 0;
    runThrough(player, () => {
      if (player.table.torch_request === 1 && player.table.contour === 0) {
        const nearest = Math.min(Math.abs(player.table.path_mm - 20), Math.abs(player.table.path_mm - 60));
        expect(player.table.corner_mm).toBeCloseTo(nearest, 12);
        seen++;
      } else expect(player.table.corner_mm).toBe(Number.POSITIVE_INFINITY);
    });
    expect(seen).toBeGreaterThan(1000);
  });

  it('finds the corners of a later contour too', () => {
    const player = playerOf([HEAD, 'M3', 'G1 X20', 'M5', 'G0 X100', 'M3', 'G1 X110', 'Y10', 'M5', 'M30']);
    let nearest_mm = Number.POSITIVE_INFINITY;
    runThrough(player, () => {
      if (player.table.contour === 0) expect(player.table.corner_mm).toBe(Number.POSITIVE_INFINITY);
      nearest_mm = Math.min(nearest_mm, player.table.corner_mm);
    });
    // The corner is passed at 7 mm/s, 0.007 mm a tick.
    expect(nearest_mm).toBeLessThan(0.007);
  });

  it('does nothing more once it has finished', () => {
    const player = playerOf([HEAD, 'G1 X1', 'M30']);
    runThrough(player);
    player.advance(true, true);
    expect(player.table).toMatchObject({ state: MotionState.finished, x_mm: 1, x_steps: 0, stop_reason: 0 });
  });

  it('refuses options that make no sense', () => {
    expect(() => playerOf(['M30'], { steps_per_mm: 0 })).toThrow(StandoffError);
    expect(() => playerOf(['M30'], { steps_per_mm: Number.NaN })).toThrow(/steps_per_mm is NaN/);
    expect(() => playerOf(['M30'], { permit_wait_s: -1 })).toThrow(/permit_wait_s is -1/);
  });

  it('drives a table of slow braking as planned', () => {
    // 0.02 mm keep the planned end away from the end of a tick, where rounding would decide.
    const plan = planOf([HEAD, 'G1 X100.02', 'M30'], { ...LIMITS, braking_mm_s2: 250 });
    const player = new MotionPlayer(plan, { steps_per_mm: 100 });
    expect(runThrough(player)).toBe(Math.ceil(plan.duration_s * 1000));
    expect(player.table.x_mm).toBe(100.02);
  });
});

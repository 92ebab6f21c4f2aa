import { describe, expect, it } from 'vitest';
import { MotionPlayer, MotionState } from '../../../sim/world/motion/index.js';
import { LIMITS, planOf, runThrough } from './support.js';

const LEAVING = ['G21 G90 F3000', 'G0 X10', 'M3', 'G1 X60', 'M5', 'G1 X110', 'M30'];
const limits = (torch_off_mm_s: number) => ({ ...LIMITS, torch_off_mm_s });

function player(torch_off_mm_s: number, lines = LEAVING): MotionPlayer {
  return new MotionPlayer(planOf(lines, limits(torch_off_mm_s)), { steps_per_mm: 100 });
}

/** Speed when the request goes off. */
function speedAtOff(one: MotionPlayer): number {
  let asked = false;
  let speed = Number.NaN;
  runThrough(one, () => {
    const { torch_request, feed_mm_s } = one.table;
    if (asked && torch_request === 0) speed = feed_mm_s;
    asked = torch_request === 1;
  });
  return speed;
}

describe('an M5 between two cutting moves', () => {
  it.each([
    [20, 20],
    [1000, 50],
  ])('is passed at the speed of the limit %i mm/s, or the feed', (limit, speed_mm_s) => {
    // Read at the end of its tick: up to a millisecond of acceleration later.
    expect(speedAtOff(player(limit)) - speed_mm_s).toBeGreaterThanOrEqual(0);
    expect(speedAtOff(player(limit)) - speed_mm_s).toBeLessThanOrEqual(1);
  });

  it('takes no time of its own: no tick of the way stands still', () => {
    const one = player(1000);
    const places: number[] = [];
    runThrough(one, () => places.push(one.table.x_mm));
    const at_speed = places.filter((x) => x > 20 && x < 100);
    const travels = at_speed.slice(1).map((x, at) => x - at_speed[at]);
    expect(Math.min(...travels)).toBeCloseTo(0.05, 9);
    expect(Math.max(...travels)).toBeCloseTo(0.05, 9);
    expect(one.table).toMatchObject({ state: MotionState.finished, x_mm: 110, contour: 0 });
    // The path of the contour ends with it.
    expect(one.table.path_mm).toBeCloseTo(50, 1);
  });

  it('is passed at rest without a limit, or with 0', () => {
    expect(speedAtOff(player(0))).toBe(0);
    expect(speedAtOff(new MotionPlayer(planOf(LEAVING), { steps_per_mm: 100 }))).toBe(0);
  });

  it.each([
    ['a rapid', ['G0 X110']],
    ['a dwell', ['G4 P0.1', 'G1 X110']],
    ['the end', []],
  ])('stops the table where %s follows', (_, rest) => {
    expect(speedAtOff(player(1000, [...LEAVING.slice(0, 5), ...rest, 'M30']))).toBe(0);
  });

  it('lies on the way of a table that brakes: the request goes off there, and the table stops behind it', () => {
    const one = player(1000);
    while (one.table.x_mm < 59.5) one.advance(true);
    runThrough({ table: one.table, advance: () => one.advance(false) } as unknown as MotionPlayer);
    expect(one.table).toMatchObject({ state: MotionState.stopped, torch_request: 0 });
    // 50 mm/s at 1000 mm/s² is 1.25 mm of braking.
    expect(one.table.x_mm).toBeCloseTo(60.75, 1);
  });
});

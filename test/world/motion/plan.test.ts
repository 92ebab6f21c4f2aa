import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StandoffError } from '../../../sim/base/index.js';
import { BlockKind, isMove, type Plan } from '../../../sim/world/motion/index.js';
import { LIMITS, planOf } from './support.js';

const HEAD = 'G21 G90 F3000';
/** Speeds are rounded sums and roots; a part in a billion is far above that and far below any limit. */
const ROUNDING = 1 + 1e-9;

function expectWithinLimits({ steps, limits }: Plan): void {
  for (let index = 0; index < steps.count; index++) {
    if (!isMove(steps.kind[index])) continue;
    const entry_mm_s = steps.entry_mm_s[index];
    const peak_mm_s = steps.peak_mm_s[index];
    const exit_mm_s = steps.exit_mm_s[index];
    expect(peak_mm_s).toBeLessThanOrEqual(Math.min(limits.rapid_mm_s, steps.programmed_mm_s[index]) * ROUNDING);
    expect(entry_mm_s).toBeLessThanOrEqual(peak_mm_s);
    expect(exit_mm_s).toBeLessThanOrEqual(peak_mm_s);
    if (steps.sweep_rad[index] !== 0) {
      const towards_centre_mm_s2 = (peak_mm_s * peak_mm_s) / steps.radius_mm[index];
      expect(towards_centre_mm_s2).toBeLessThanOrEqual(limits.acceleration_mm_s2 * 1.01);
    }
    const rise = (peak_mm_s * peak_mm_s - entry_mm_s * entry_mm_s) / (2 * limits.acceleration_mm_s2);
    const fall = (peak_mm_s * peak_mm_s - exit_mm_s * exit_mm_s) / (2 * limits.braking_mm_s2);
    expect(rise + fall).toBeLessThanOrEqual(steps.length_mm[index] * ROUNDING + 1e-9);
    const chained = index + 1 < steps.count && isMove(steps.kind[index + 1]) && exit_mm_s > 0;
    if (!chained) {
      expect(exit_mm_s).toBe(0);
      continue;
    }
    expect(steps.entry_mm_s[index + 1]).toBe(exit_mm_s);
    const change_x = (steps.start_dx[index + 1] - steps.end_dx[index]) * exit_mm_s;
    const change_y = (steps.start_dy[index + 1] - steps.end_dy[index]) * exit_mm_s;
    // 1e-6 mm/s covers directions that count as equal.
    expect(Math.sqrt(change_x * change_x + change_y * change_y)).toBeLessThanOrEqual(
      limits.corner_velocity_step_mm_s * ROUNDING + 1e-6,
    );
  }
}

describe('planning', () => {
  it('runs a long line as a trapezoid', () => {
    const plan = planOf([HEAD, 'G1 X100', 'M30']);
    // 50 mm/s at 1000 mm/s²: 50 ms and 1.25 mm at either end.
    expect(plan.duration_s).toBeCloseTo(0.1 + 97.5 / 50, 12);
    expect(plan.steps.peak_mm_s[0]).toBe(50);
  });

  it('brakes with its own deceleration', () => {
    const plan = planOf([HEAD, 'G1 X100', 'M30'], { ...LIMITS, braking_mm_s2: 500 });
    expect(plan.duration_s).toBeCloseTo(0.05 + 0.1 + (100 - 1.25 - 2.5) / 50, 12);
  });

  it('starts where the torch stands, at the origin of G54', () => {
    const plan = planOf([HEAD, 'M3', 'G1 X50', 'M30'], LIMITS, { G54_x_mm: 30, G54_y_mm: 40 });
    expect(plan.cut_bounds).toEqual({ min_x_mm: 30, min_y_mm: 40, max_x_mm: 80, max_y_mm: 40 });
    expect(plan.cut_length_mm).toBe(50);
  });

  it('passes a straight joint without braking and a square corner at the allowed step of velocity', () => {
    const plan = planOf([HEAD, 'G1 X50', 'X100', 'Y50', 'M30']);
    expect(plan.steps.exit_mm_s[0]).toBe(50);
    expect(plan.steps.exit_mm_s[1]).toBeCloseTo(10 / Math.SQRT2, 12);
  });

  it('looks ahead over many short moves to the stop at their end', () => {
    const lines = Array.from({ length: 200 }, (_, line) => `X${(line + 1) / 100}`);
    const plan = planOf([HEAD, 'G1', ...lines, 'M30']);
    // 2 mm from rest to rest: the triangle peaks at √(1000·2).
    expect(Math.max(...plan.steps.peak_mm_s)).toBeCloseTo(Math.sqrt(2000), 9);
    expect(plan.duration_s).toBeCloseTo(2 * Math.sqrt(2 / 1000), 9);
  });

  it('slows down on a small circle, exact or drawn in chords, to √(a·r)', () => {
    const exact = planOf([HEAD, 'G0 X1', 'G3 I-1', 'M30']);
    expect(exact.steps.peak_mm_s[1]).toBeCloseTo(Math.sqrt(1000), 9);
    const chords = Array.from({ length: 100 }, (_, chord) => {
      const angle_rad = ((chord + 1) * 2 * Math.PI) / 100;
      return `X${Math.cos(angle_rad).toFixed(6)} Y${Math.sin(angle_rad).toFixed(6)}`;
    });
    const drawn = planOf([HEAD, 'G0 X1', 'G1', ...chords, 'M30']);
    // Mid-circle; chords and their angles are rounded to six decimals.
    expect(drawn.steps.exit_mm_s[50]).toBeCloseTo(Math.sqrt(1000), 2);
  });

  it('holds the acceleration to the smaller radius of an arc whose radii differ within the tolerance', () => {
    const plan = planOf([HEAD, 'G0 X0.01', 'G3 X0 Y0.0085 I-0.01', 'M30']);
    expect(plan.steps.peak_mm_s[1]).toBeCloseTo(Math.sqrt(1000 * 0.0085), 9);
  });

  it('drives no feed faster than the rapid speed', () => {
    expect(planOf(['G21 F60000', 'G1 X500', 'M30']).steps.peak_mm_s[0]).toBe(200);
  });

  it('stands still at torch words, dwells and between rapid and cutting motion', () => {
    const plan = planOf([HEAD, 'G0 X10', 'G1 X20', 'M3', 'X30', 'G4 P0', 'X40', 'M5', 'X50', 'M30']);
    for (let index = 0; index < plan.steps.count; index++) {
      expect(plan.steps.entry_mm_s[index]).toBe(0);
      expect(plan.steps.exit_mm_s[index]).toBe(0);
    }
  });

  it('leaves out moves without length and torch words that change nothing', () => {
    const plan = planOf([HEAD, 'G0 X0', 'M5', 'M3', 'M3', 'G1 X10', 'X10', 'Y0', 'X20', 'M5', 'M30']);
    expect([...plan.steps.kind.slice(0, plan.steps.count)]).toEqual([
      BlockKind.torchOn,
      BlockKind.line,
      BlockKind.line,
      BlockKind.torchOff,
      BlockKind.end,
    ]);
    expect(plan.steps.exit_mm_s[1]).toBe(50);
    expect(plan.contours).toEqual([{ first_line: 4, length_mm: 20 }]);
  });

  it('plans a program that only ends', () => {
    const plan = planOf(['M30']);
    expect(plan).toMatchObject({ duration_s: 0, bounds: undefined, cut_bounds: undefined, contours: [] });
  });

  it('refuses a limit that is not above 0', () => {
    expect(() => planOf([HEAD, 'M30'], { ...LIMITS, rapid_mm_s: 0 })).toThrow(StandoffError);
    expect(() => planOf([HEAD, 'M30'], { ...LIMITS, braking_mm_s2: Number.NaN })).toThrow(/braking_mm_s2 is NaN/);
  });

  it('keeps every limit on any path', () => {
    const place = fc.integer({ min: -500, max: 500 }).map((value) => value / 10);
    const move = fc.oneof(
      fc.tuple(fc.constantFrom('G0', 'G1'), place, place).map(([code, x, y]) => `${code} X${x} Y${y}`),
      fc
        .tuple(fc.constantFrom('G2', 'G3'), place, place, fc.constantFrom(1, -1))
        .map(([code, x, y, sign]) => `G91 ${code} X${x + 0.05} Y${y} R${sign * 200}\nG90`),
      fc.tuple(fc.constantFrom('G2', 'G3'), place).map(([code, i]) => `${code} I${i + 0.05}`),
      fc.integer({ min: 10, max: 20_000 }).map((feed) => `F${feed}`),
      fc.constantFrom('M3', 'M5', 'G4 P0.1'),
    );
    const limit = fc.double({ min: 0.5, max: 5000, noNaN: true });
    const limits = fc.record({
      acceleration_mm_s2: limit,
      braking_mm_s2: limit,
      rapid_mm_s: limit,
      corner_velocity_step_mm_s: limit,
    });
    fc.assert(
      fc.property(fc.array(move, { maxLength: 40 }), limits, (moves, chosen) => {
        expectWithinLimits(planOf([HEAD, ...moves, 'M30'], chosen));
      }),
      { numRuns: 300 },
    );
  });
});

describe('what a plan tells of a program', () => {
  const plan = planOf([
    HEAD,
    'G0 X20 Y10',
    'M3',
    'G1 X40',
    'Y30',
    'G3 X20 Y50 I-20',
    'G1 X15 Y50',
    'M5',
    'G0 X-5 Y100',
    'M3',
    'G1 Y90',
    'Y95',
    'M30',
  ]);

  it('boxes all moves and those that cut, with the bulge of an arc', () => {
    expect(plan.bounds).toEqual({ min_x_mm: -5, min_y_mm: 0, max_x_mm: 40, max_y_mm: 100 });
    expect(plan.cut_bounds).toEqual({ min_x_mm: -5, min_y_mm: 10, max_x_mm: 40, max_y_mm: 100 });
    const bulge = planOf([HEAD, 'G0 X10', 'M3', 'G2 X-10 Y0 I-10', 'G3 X10 I10', 'M30']);
    expect(bulge.bounds?.min_y_mm).toBeCloseTo(-10, 12);
    expect(bulge.cut_bounds?.max_y_mm).toBe(0);
    const circle = planOf([HEAD, 'G2 I-3 J4', 'M30']).bounds;
    expect(circle?.min_x_mm).toBeCloseTo(-8, 12);
    expect(circle?.max_x_mm).toBeCloseTo(2, 12);
    expect(circle?.min_y_mm).toBeCloseTo(-1, 12);
    expect(circle?.max_y_mm).toBeCloseTo(9, 12);
  });

  it('lists the contours with the line of their M3 and their length', () => {
    expect(plan.contours.map((contour) => contour.first_line)).toEqual([3, 10]);
    expect(plan.contours[0].length_mm).toBeCloseTo(20 + 20 + 10 * Math.PI + 5, 9);
    expect(plan.contours[1].length_mm).toBe(15);
    expect(plan.cut_length_mm).toBeCloseTo(60 + 10 * Math.PI, 9);
  });

  it('lists the corners that are cut, but neither smooth joints nor turns of a rapid', () => {
    const { path_mm, x_mm, y_mm, turn_degrees, contour } = plan.corners;
    expect([...contour]).toEqual([0, 1]);
    expect([...x_mm]).toEqual([40, -5]);
    expect([...y_mm]).toEqual([10, 90]);
    expect(path_mm[0]).toBe(20);
    expect(path_mm[1]).toBeCloseTo(55 + 10 * Math.PI, 9);
    expect(turn_degrees[0]).toBeCloseTo(90, 12);
    expect(turn_degrees[1]).toBeCloseTo(180, 12);
  });

  it('takes a turn below 30 degrees for a curve and one above for a corner', () => {
    const turned = (degrees: number) => {
      const x = 10 + 100 * Math.cos((degrees * Math.PI) / 180);
      const y = 100 * Math.sin((degrees * Math.PI) / 180);
      return planOf([HEAD, 'M3', 'G1 X10', `X${x.toFixed(5)} Y${y.toFixed(5)}`, 'M30']).corners.path_mm.length;
    };
    expect(turned(29.9)).toBe(0);
    expect(turned(30.1)).toBe(1);
  });
});

import { expect } from 'vitest';
import {
  Judge,
  type RequirementContext,
  type RequirementResult,
  type RunFigures,
  requirementContext,
} from '../../sim/judge/index.js';
import { feed, type MadeRow } from './made-cut.js';

/** What the made runs were made for; their figures must not move when a default of the table does. */
const MADE_FOR = {
  rest_V: 25,
  fall_ms: 500,
  arc_low_V: 60,
  arc_high_V: 190,
  arc_off_ms: 100,
  arc_on_ms: 30,
  crossing_ms: 400,
  touch_offset_mm: 0,
  pierce_height_mm: 3,
  pierce_ms: 500,
  cut_height_mm: 1.5,
  strike_ms: 1500,
  strike_retries: 2,
  x_steps_per_mm: 160,
  y_steps_per_mm: 160,
  z_steps_per_mm: 400,
  z_velocity_mm_s: 40,
  z_acceleration_mm_s2: 1500,
  follow_down_mm_s: 10,
  travel_mm: 60,
  reversal_um: 25,
  hold_carried: 1,
  slope_limit: 0.12,
  floor_allowance_mm: 0.7,
  dive_mm: 15,
  stray_ms: 800,
  standstill_s: 5,
  feed_filter_ms: 12,
};

/** The context that a made run is judged in. */
export const madeContext = (parameters: Readonly<Record<string, number>> = {}): RequirementContext =>
  requirementContext({ ...MADE_FOR, ...parameters });

/** Judges a made run. */
export function judge(rows: readonly MadeRow[], parameters: Readonly<Record<string, number>> = {}): Judge {
  const judge = new Judge(madeContext(parameters));
  feed(rows, [judge]);
  return judge;
}

/** What a made run says about one requirement or quality goal. */
export function verdict(
  name: string,
  rows: readonly MadeRow[],
  parameters: Readonly<Record<string, number>> = {},
): RequirementResult {
  const result = judge(rows, parameters)
    .results()
    .find((requirement) => requirement.name === name);
  if (result === undefined) throw new Error(`there is no requirement ${name}`);
  return result;
}

export const figuresOf = (rows: readonly MadeRow[], parameters: Readonly<Record<string, number>> = {}): RunFigures =>
  judge(rows, parameters).figures.figures();

/** The requirement was put to the test and kept. */
export function expectKept(result: RequirementResult): void {
  expect(result).toMatchObject({ kept: true });
  expect(result.checked).toBeGreaterThan(0);
  expect(result.margin).toBeGreaterThanOrEqual(0);
}

/** The requirement was broken, with this margin, at this tick. */
export function expectBroken(result: RequirementResult, tick: number, margin?: number): void {
  expect(result.kept).toBe(false);
  expect(result.margin).toBeLessThan(0);
  if (margin !== undefined) expect(result.margin).toBeCloseTo(margin, 6);
  expect(result.worst_tick).toBe(tick);
}

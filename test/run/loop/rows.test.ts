import { describe, expect, it } from 'vitest';
import { FLAG_NEAR_ZERO } from '../../../firmware/wire/layout.gen.js';
import { MotionState } from '../../../sim/world/motion/index.js';
import { type Changes, CORNER, CROSSING, cut, STRAIGHT } from './cut.js';

describe('a quantity of machine or world changes the cut in which it matters', () => {
  const HIGH: Changes = { box: { pierce_height_mm: 4 }, world: { 'arc.roll_off_from_mm': 2.5 } };
  /** The arc is too long where it pierces, and goes out. */
  const TOO_LONG: Changes = { box: { pierce_height_mm: 4 }, world: { 'arc.reach_mm': 3 } };
  /** Crosses the kerf where it was cut slowly, at its beginning. */
  const SLOW_CROSSING = CROSSING.replaceAll('Y100', 'Y50.3');
  it.each([
    ['machine', 'axis.start_stop_mm_s', 1, STRAIGHT, {}],
    ['machine', 'head.weight_N', 10, STRAIGHT, {}],
    ['world', 'arc.roll_off_from_mm', 2, STRAIGHT, HIGH],
    ['world', 'arc.roll_off_mm', 3, STRAIGHT, HIGH],
    ['world', 'arc.nominal_feed_mm_s', 60, STRAIGHT, {}],
    ['world', 'arc.strike_delay_ms', 400, STRAIGHT, {}],
    ['world', 'arc.kerf_mm', 2.5, CROSSING, {}],
    ['world', 'arc.kerf_slow_growth', 2, SLOW_CROSSING, {}],
    ['world', 'arc.reach_ms', 60, STRAIGHT, TOO_LONG],
  ] as const)('%s %s', (section, path, value, program, changes: Changes) => {
    const other = { ...changes, [section]: { ...changes[section], [path]: value } };
    expect(cut(program, other).hash).not.toBe(cut(program, changes).hash);
  });
});

describe('a recorded row', () => {
  it('says in table_state what the table does, and in its flags whether there is voltage', () => {
    const states = new Set<number>();
    let near_zero_with_arc = 0;
    let voltage_at_rest = 0;
    cut(CORNER, {}, (block) => {
      for (let row = 0; row < block.count; row++) {
        states.add(block.table_state[row]);
        const near_zero = (block.flags[row] & FLAG_NEAR_ZERO) !== 0;
        if (near_zero && block.measured_V[row] > 100) near_zero_with_arc++;
        // The first ticks of a run have not yet a mean of readings.
        if (!near_zero && block.first_tick + row > 100 && block.measured_V[row] < 5) voltage_at_rest++;
      }
    });
    expect([...states].sort()).toEqual(
      [MotionState.running, MotionState.dwelling, MotionState.waitingForPermit, MotionState.finished].sort(),
    );
    expect({ near_zero_with_arc, voltage_at_rest }).toEqual({ near_zero_with_arc: 0, voltage_at_rest: 0 });
  });
});

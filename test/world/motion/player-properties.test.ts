import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { MotionPlayer, MotionState, StopReason } from '../../../sim/world/motion/index.js';
import { planOf } from './support.js';

/** Short cuts with lines, arcs and stops, feeds that change, corners of every angle. */
const place = fc.integer({ min: -200, max: 200 }).map((value) => value / 10);
const move = fc.oneof(
  fc.tuple(place, place).map(([x, y]) => `G1 X${x} Y${y}`),
  fc.tuple(fc.constantFrom('G2', 'G3'), place).map(([code, i]) => `${code} I${i + 0.05}`),
  fc
    .tuple(fc.constantFrom('G2', 'G3'), place, place, fc.constantFrom(1, -1))
    .map(([code, x, y, sign]) => `G91 ${code} X${x + 0.05} Y${y} R${sign * 30}\nG90`),
  fc.tuple(fc.constantFrom('G0'), place, place).map(([code, x, y]) => `${code} X${x} Y${y}`),
  fc.integer({ min: 300, max: 12_000 }).map((feed) => `F${feed}`),
  fc.constantFrom('M3', 'M5', 'G4 P0.003'),
);
const program = fc.array(move, { maxLength: 12 }).map((moves) => ['G21 F3000', ...moves, 'M30']);
const limits = fc.record({
  acceleration_mm_s2: fc.constantFrom(200, 1000, 3000),
  braking_mm_s2: fc.constantFrom(300, 1000, 2500),
  rapid_mm_s: fc.constant(150),
  corner_velocity_step_mm_s: fc.constantFrom(2, 10),
});
const TICK_S = 0.001;
/** Rounding of positions up to a few hundred millimetres, met twice, and of speeds up to 200 mm/s. */
const ROUNDING = 1e-9;
const LONGEST_TICKS = 30_000;

describe('the motion of any program', () => {
  it('never changes its speed faster than the table can, nor exceeds what is programmed', () => {
    fc.assert(
      fc.property(program, limits, (lines, chosen) => {
        const player = new MotionPlayer(planOf(lines, chosen), { steps_per_mm: 80 });
        let before_mm_s = 0;
        let x_mm = 0;
        let y_mm = 0;
        let rise_mm_s = 0;
        let fall_mm_s = 0;
        let excess_mm_s = 0;
        let jump_mm = 0;
        for (let tick = 0; player.table.state < MotionState.stopped && tick < LONGEST_TICKS; tick++) {
          player.advance(true);
          rise_mm_s = Math.max(rise_mm_s, player.table.feed_mm_s - before_mm_s);
          fall_mm_s = Math.max(fall_mm_s, before_mm_s - player.table.feed_mm_s);
          // Where the feed word falls, the braking is over before the slower move begins.
          if (player.table.state === MotionState.running)
            excess_mm_s = Math.max(excess_mm_s, player.table.feed_mm_s - player.move.programmed_mm_s);
          // Within a tick the speed can rise and fall by half a tick's worth at most.
          const fastest_mm_s = Math.max(before_mm_s, player.table.feed_mm_s) + (chosen.acceleration_mm_s2 * TICK_S) / 2;
          const moved_mm = Math.sqrt((player.table.x_mm - x_mm) ** 2 + (player.table.y_mm - y_mm) ** 2);
          jump_mm = Math.max(jump_mm, moved_mm - fastest_mm_s * TICK_S);
          before_mm_s = player.table.feed_mm_s;
          x_mm = player.table.x_mm;
          y_mm = player.table.y_mm;
        }
        expect(rise_mm_s).toBeLessThanOrEqual(chosen.acceleration_mm_s2 * TICK_S + ROUNDING);
        expect(fall_mm_s).toBeLessThanOrEqual(chosen.braking_mm_s2 * TICK_S + ROUNDING);
        expect(excess_mm_s).toBeLessThanOrEqual(ROUNDING);
        expect(jump_mm).toBeLessThanOrEqual(ROUNDING);
      }),
      { numRuns: 200 },
    );
  });

  it('gives out whole steps whose sum is the position, rounded, at every tick', () => {
    fc.assert(
      fc.property(program, fc.double({ min: 0.5, max: 800, noNaN: true }), (lines, steps_per_mm) => {
        const player = new MotionPlayer(planOf(lines), { steps_per_mm });
        let x = 0;
        let y = 0;
        let off = 0;
        let whole = true;
        for (let tick = 0; player.table.state < MotionState.stopped && tick < LONGEST_TICKS; tick++) {
          player.advance(true);
          whole &&= Number.isInteger(player.table.x_steps) && Number.isInteger(player.table.y_steps);
          x += player.table.x_steps;
          y += player.table.y_steps;
          off = Math.max(
            off,
            Math.abs(x - player.table.x_mm * steps_per_mm),
            Math.abs(y - player.table.y_mm * steps_per_mm),
          );
        }
        expect(whole).toBe(true);
        expect(off).toBeLessThanOrEqual(0.5 + ROUNDING);
      }),
      { numRuns: 200 },
    );
  });

  it('ends where the program ends, with the planned path', () => {
    fc.assert(
      fc.property(program, (lines) => {
        const plan = planOf(lines);
        const player = new MotionPlayer(plan, { steps_per_mm: 80 });
        while (player.table.state < MotionState.stopped) player.advance(true);
        const last = plan.steps.count - 1;
        expect(player.table.state).toBe(MotionState.finished);
        expect(Math.abs(player.table.x_mm - plan.steps.end_x_mm[last])).toBeLessThan(ROUNDING);
        expect(Math.abs(player.table.y_mm - plan.steps.end_y_mm[last])).toBeLessThan(ROUNDING);
        expect(Math.abs(player.table.path_mm - plan.cut_length_mm)).toBeLessThan(ROUNDING);
      }),
      { numRuns: 200 },
    );
  });

  it('stops within v²/2a of path when the permit goes at any tick, without a jump of speed', () => {
    let stopped_in_motion = 0;
    fc.assert(
      fc.property(program, limits, fc.integer({ min: 2, max: 2000 }), (lines, chosen, last_tick) => {
        const player = new MotionPlayer(planOf(['M3', ...lines], chosen), { steps_per_mm: 80 });
        for (let tick = 0; tick < last_tick; tick++) player.advance(true);
        if (player.table.torch_request === 0 || player.table.feed_mm_s === 0) return;
        stopped_in_motion++;
        const speed_mm_s = player.table.feed_mm_s;
        const start_mm = player.table.path_mm;
        let before_mm_s = speed_mm_s;
        let fall_mm_s = 0;
        let ticks = 0;
        while (player.table.state < MotionState.stopped) {
          player.advance(false);
          fall_mm_s = Math.max(fall_mm_s, before_mm_s - player.table.feed_mm_s);
          before_mm_s = player.table.feed_mm_s;
          ticks++;
        }
        expect(player.table.stop_reason).toBe(StopReason.permitWithdrawn);
        expect(fall_mm_s).toBeLessThanOrEqual(chosen.braking_mm_s2 * TICK_S + ROUNDING);
        expect(ticks).toBeLessThanOrEqual(Math.ceil(speed_mm_s / (chosen.braking_mm_s2 * TICK_S)) + 1);
        const braking_mm = (speed_mm_s * speed_mm_s) / (2 * chosen.braking_mm_s2);
        expect(Math.abs(player.table.path_mm - start_mm - braking_mm)).toBeLessThanOrEqual(ROUNDING);
      }),
      { numRuns: 500 },
    );
    expect(stopped_in_motion).toBeGreaterThan(50);
  });
});

import { describe, expect, it } from 'vitest';
import {
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_PIERCE,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
} from '../../firmware/wire/codes.gen.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, MadeRun, madeCut, plant, STEPS_PER_MM } from './made-cut.js';

describe('requirement 6, z-velocity', () => {
  const NAME = 'z-velocity';
  const at = (speed_mm_s: number) => verdict(NAME, new MadeRun().add(300, { mode: MODE_SEEK }, speed_mm_s).rows);

  it.each([40, -40])('is kept at z_velocity_mm_s, %i mm/s', (speed) => expectKept(at(speed)));

  it.each([40.3, -40.3])('is broken by a steady %f mm/s', (speed) => {
    expect(at(speed).kept).toBe(false);
  });

  it('is broken by a burst in a single tick', () => {
    const rows = madeCut();
    const row = plant(rows, firstIn(rows, MODE_PIERCE) + 50, 1, (made) => {
      made.z_steps = 18;
    });
    // 40 mm/s are 16 steps a tick; rounding allows 17.
    expectBroken(verdict(NAME, rows), row, ((17.001 - 18) * 1000) / STEPS_PER_MM);
    plant(rows, row, 1, (made) => {
      made.z_steps = 17;
    });
    expectKept(verdict(NAME, rows));
  });

  it('never has a margin above the limit itself', () => {
    expect(verdict(NAME, new MadeRun().add(10, { mode: MODE_REST }).rows).margin).toBe(40);
  });
});

describe('requirement 6, z-acceleration', () => {
  const NAME = 'z-acceleration';

  it('is kept by ramps at the limit, up and down and through the turn', () => {
    const run = new MadeRun();
    for (let turn = 0; turn < 20; turn++) run.add(70, { mode: MODE_SEEK }, turn % 2 === 0 ? 40 : -40);
    expectKept(verdict(NAME, run.rows));
  });

  it('is broken by the steps of a ramp that is twice too steep, though the command says nothing', () => {
    const rows = new MadeRun().add(100, { mode: MODE_SEEK }, 40).rows;
    // 1.2 steps a tick more in every tick are 3000 mm/s².
    const hard = rows.map((row, tick) => ({ ...row, z_steps: Math.round(Math.min(16, 1.2 * (tick + 1))) }));
    expect(verdict(NAME, hard).kept).toBe(false);
    expectKept(verdict(NAME, rows));
  });

  it('is broken by the steps of a ramp that is a fifth too steep', () => {
    const ramp = (acceleration_mm_s2: number) => {
      const rows = new MadeRun().add(100, { mode: MODE_SEEK }).rows;
      const height = (ms: number) => Math.round((acceleration_mm_s2 * ms * ms * STEPS_PER_MM) / 2e6);
      for (let ms = 0; ms < 20; ms++) rows[50 + ms].z_steps = height(ms + 1) - height(ms);
      for (let ms = 20; ms < 50; ms++)
        rows[50 + ms].z_steps = Math.round((acceleration_mm_s2 * 20 * STEPS_PER_MM) / 1e6);
      return verdict(NAME, rows);
    };
    expectKept(ramp(1500));
    expect(ramp(1800).kept).toBe(false);
  });

  it('is broken by steps that come out all at once', () => {
    const rows = madeCut();
    const at = plant(rows, firstIn(rows, MODE_RETRACT) + 20, 1, (row) => {
      row.z_steps = 6;
    });
    const result = verdict(NAME, rows);
    expect(result.kept).toBe(false);
    // The jerk shows in the tick itself or in the next, where it ends.
    expect(result.worst_tick! - at).toBeLessThanOrEqual(1);
  });

  it('allows three steps of rounding and not four', () => {
    const kept = (steps: number) => {
      const rows = madeCut();
      plant(rows, firstIn(rows, MODE_PIERCE) + 50, 1, (row) => {
        row.z_steps = steps;
      });
      return verdict(NAME, rows).kept;
    };
    // 0.6 steps of true acceleration and three of rounding, over the tick in which the steps come.
    expect(kept(3)).toBe(true);
    expect(kept(4)).toBe(false);
  });

  it('lets Z come out of the backlash of a reversal with the speed of the command, in follow only', () => {
    const jerk = (mode: number) => {
      const rows = new MadeRun().add(100, { mode }).rows;
      for (let row = 50; row < 60; row++) rows[row].z_steps = 3;
      return verdict(NAME, rows).kept;
    };
    expect(jerk(MODE_FOLLOW)).toBe(true);
    expect(jerk(MODE_PIERCE)).toBe(false);
  });

  it('is broken by a command that jumps in follow', () => {
    const rows = new MadeRun().add(100, { mode: MODE_FOLLOW }).rows;
    const jumping = (change_mm_s: number) => {
      const made = rows.map((row, tick) => ({ ...row, z_velocity_mm_s: tick < 40 ? 0 : change_mm_s }));
      return verdict(NAME, made);
    };
    expect(jumping(1.5)).toMatchObject({ kept: true });
    expectBroken(jumping(2), 40, 1500 * 1.0001 - 2000);
  });
});

describe('requirement 6, z-follows-command', () => {
  const NAME = 'z-follows-command';
  const follow = { mode: MODE_FOLLOW, measured_V: 118 };

  it('is kept by steps that add up to the command', () => {
    const run = new MadeRun().add(100, follow, 3.3).add(100, follow, -7.7);
    expectKept(verdict(NAME, run.rows));
  });

  it('lets the backlash of a reversal keep ten steps back, and rounding two, and no more', () => {
    const held = (steps: number) => {
      const rows = new MadeRun().add(100, follow).rows;
      for (let row = 40; row < 40 + steps; row++) rows[row].z_velocity_mm_s = 1000 / STEPS_PER_MM;
      return verdict(NAME, rows);
    };
    expect(held(12)).toMatchObject({ kept: true });
    expect(held(12).margin).toBeCloseTo(0, 9);
    expectBroken(held(13), 52, -1 / STEPS_PER_MM);
  });

  it('begins again where the voltage is below the arc window', () => {
    const rows = new MadeRun().add(200, follow).rows;
    for (let row = 40; row < 60; row++) rows[row].z_velocity_mm_s = 1000 / STEPS_PER_MM;
    expect(verdict(NAME, rows).kept).toBe(false);
    for (let row = 45; row < 60; row++) rows[row].measured_V = 59;
    expectKept(verdict(NAME, rows));
    for (let row = 45; row < 60; row++) rows[row].measured_V = 60;
    expect(verdict(NAME, rows).kept).toBe(false);
  });

  it('is broken by steps that were not commanded', () => {
    const rows = new MadeRun().add(200, follow).rows;
    for (let row = 100; row < 130; row++) rows[row].z_steps = -1;
    expect(verdict(NAME, rows).kept).toBe(false);
  });
});

describe('requirement 6, follow-down-speed', () => {
  const NAME = 'follow-down-speed';
  const down = (speed_mm_s: number) => verdict(NAME, new MadeRun().add(200, { mode: MODE_FOLLOW }, -speed_mm_s).rows);

  it('is kept at follow_down_mm_s and broken a few per cent above', () => {
    expectKept(down(10));
    // One step in 20 ms is 0.125 mm/s: the margin of a whole number of steps lies within that of the true one.
    expect(down(10).margin).toBeLessThanOrEqual(0.125 + 1e-9);
    expect(down(10.3).kept).toBe(false);
  });

  it('does not limit the way up', () => {
    expectKept(verdict(NAME, new MadeRun().add(200, { mode: MODE_FOLLOW }, 40).rows));
  });

  it('does not count the speed that Z brought into follow', () => {
    const rows = new MadeRun().add(100, { mode: MODE_HOLD }, -30).rows;
    rows.push(...new MadeRun().add(100, { mode: MODE_FOLLOW }).rows);
    expectKept(verdict(NAME, rows));
  });
});

import { describe, expect, it } from 'vitest';
import { MODE_FOLLOW, MODE_HOLD, MODE_LIFT, MODE_PIERCE, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import { OUTPUT_Z_OWNED } from '../../firmware/wire/layout.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, MadeRun, madeCut, plant, START_MM, STEPS_PER_MM } from './made-cut.js';

/** Moves Z by `steps` more, all in one row. */
function jump(mode: number, steps: number) {
  const rows = madeCut();
  const at = plant(rows, firstIn(rows, mode) + 5, 1, (row) => {
    row.z_steps! += steps;
  });
  return { rows, at };
}

describe('requirement 6, z-travel', () => {
  const NAME = 'z-travel';

  it('has a margin of what was left of the travel at the lowest point', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    // 20 mm down to the sheet, and 40 steps of touch-off travel beyond it.
    expect(result.margin).toBeCloseTo(60 - START_MM - 40 / STEPS_PER_MM, 6);
  });

  it('is kept at the last step of the travel and broken by the next', () => {
    const owned = { mode: MODE_FOLLOW, digital_outputs: OUTPUT_Z_OWNED };
    const run = new MadeRun().add(2, { mode: 0 }).add(1, owned);
    run.goTo(-60 * STEPS_PER_MM, 40, owned);
    expect(verdict(NAME, run.rows)).toMatchObject({ kept: true, margin: 0 });
    run.add(10, owned).rows.at(-1).z_steps = -1;
    expectBroken(verdict(NAME, run.rows), run.rows.length - 1, -1 / STEPS_PER_MM);
  });

  it('is broken by Z above where the box took it over', () => {
    const { rows, at } = jump(MODE_PIERCE, 20 * STEPS_PER_MM);
    expect(verdict(NAME, rows).kept).toBe(false);
    expect(verdict(NAME, rows).worst_tick).toBeGreaterThanOrEqual(at);
  });

  it('counts from the take-over, wherever that was', () => {
    const owned = { mode: MODE_FOLLOW, digital_outputs: OUTPUT_Z_OWNED };
    const far = { mode: 0, z_steps: -1000 };
    const rows = [far, far, owned, { ...owned, z_steps: -400 }];
    expect(verdict(NAME, rows).margin).toBeCloseTo(59, 9);
  });
});

describe('requirement 6, z-dive', () => {
  const NAME = 'z-dive';

  it('has a margin from the touched sheet', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    // The lowest point after the touch-off is the sheet itself; a touch offset need not be a whole step.
    expect(result.margin).toBeCloseTo(15 + 1 / STEPS_PER_MM, 6);
  });

  it('is broken by Z deeper than dive_mm below the touched sheet, to the step', () => {
    const depth = (steps: number) => jump(MODE_PIERCE, -steps);
    // Z goes on to cut height from there, 1.5 mm above the sheet.
    const most = (15 + 1.5) * STEPS_PER_MM + 1;
    expect(verdict(NAME, depth(most).rows)).toMatchObject({ kept: true, margin: 0 });
    const result = verdict(NAME, depth(most + 1).rows);
    expect(result.kept).toBe(false);
    expect(result.margin).toBeCloseTo(-1 / STEPS_PER_MM, 9);
  });

  it('counts touch_offset_mm: the tip is that high above the sheet when the switch opens', () => {
    expect(verdict(NAME, madeCut(), { touch_offset_mm: 2 }).margin).toBeCloseTo(17 + 1 / STEPS_PER_MM, 6);
  });

  it('says nothing before there is a touched sheet', () => {
    const rows = madeCut().slice(0, firstIn(madeCut(), MODE_LIFT));
    expect(verdict(NAME, rows)).toMatchObject({ checked: 0, margin: null });
  });
});

describe('requirement 6, floor', () => {
  const NAME = 'floor';
  const ALLOWED = 0.7 * STEPS_PER_MM;

  it('is kept at cut height', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    // The first millisecond of settle: cut height, with a path of 0.05 mm; two steps are rounding.
    expect(result.margin).toBeCloseTo(0.7 + 0.12 * 0.05 + 2 / STEPS_PER_MM, 6);
  });

  it.each([
    ['settle', MODE_SETTLE],
    ['follow', MODE_FOLLOW],
    ['hold', MODE_HOLD],
  ])('is broken by Z below the allowance and the steepest sheet in %s', (_, mode) => {
    const { rows, at } = jump(mode, -2 * ALLOWED - 3 * STEPS_PER_MM);
    const result = verdict(NAME, rows);
    expect(result.kept).toBe(false);
    expect(result.worst_tick).toBe(at);
  });

  it('is lower the more path the cut has behind it, and to the step', () => {
    // Six rows of settle are 6 · 0.05 mm of path since the permit.
    const depth = 0.7 + 0.12 * 0.05 * 6;
    const most = Math.floor(depth * STEPS_PER_MM) + 2;
    expect(verdict(NAME, jump(MODE_SETTLE, -most).rows).kept).toBe(true);
    expectBroken(verdict(NAME, jump(MODE_SETTLE, -most - 1).rows), jump(MODE_SETTLE, 0).at);
  });

  it('counts the path from the permit, not what the table has travelled before', () => {
    const rows = madeCut();
    plant(rows, 0, 90, (row) => {
      row.x_steps = 1600;
    });
    expect(verdict(NAME, rows).margin).toBeCloseTo(verdict(NAME, madeCut()).margin!, 6);
  });

  it('is not judged while piercing', () => {
    const before = verdict(NAME, madeCut()).checked;
    expect(before).toBe(60 + 400 + 200 + 400);
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

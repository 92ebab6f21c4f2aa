import { describe, expect, it } from 'vitest';
import { MODE_FOLLOW, MODE_HOLD, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, type MadeRow, madeCut, plant } from './made-cut.js';

const NAME = 'outside-window';
/** Play of 25 µm at 400 steps/mm, and two steps of rounding; Z stands still before. */
const ALLOWED_STEPS = 12;

/** A cut in which the voltage is `V` for 40 ms from `at` on, while Z goes by so many single steps, down or up. */
function outside(mode: number, V: number, steps: number, before: (rows: MadeRow[], at: number) => void = () => {}) {
  const rows = madeCut();
  const at = firstIn(rows, mode) + 15;
  before(rows, at);
  plant(rows, at, 40, (row, index) => {
    row.measured_V = V;
    row.z_steps = index < Math.abs(steps) ? Math.sign(steps) : 0;
  });
  return { rows, at };
}

describe('requirement 5, outside-window', () => {
  it('says nothing about a cut whose voltage stays inside the window', () => {
    expect(verdict(NAME, madeCut())).toMatchObject({ kept: true, checked: 0, margin: null });
  });

  for (const [name, mode] of [
    ['settle', MODE_SETTLE],
    ['follow', MODE_FOLLOW],
    ['hold', MODE_HOLD],
  ] as const) {
    it.each([59, 191])(`in ${name} at %i V is kept by a Z that stands still, and broken by one that goes down`, (V) => {
      expectKept(verdict(NAME, outside(mode, V, 0).rows));
      expectKept(verdict(NAME, outside(mode, V, -ALLOWED_STEPS).rows));
      const { rows, at } = outside(mode, V, -ALLOWED_STEPS - 1);
      expectBroken(verdict(NAME, rows), at + ALLOWED_STEPS, -1 / 400);
    });
  }

  it('lets Z rise above the window, and not below it', () => {
    expectKept(verdict(NAME, outside(MODE_FOLLOW, 191, 40).rows));
    expectKept(verdict(NAME, outside(MODE_FOLLOW, 59, ALLOWED_STEPS).rows));
    const { rows, at } = outside(MODE_FOLLOW, 59, ALLOWED_STEPS + 1);
    expectBroken(verdict(NAME, rows), at + ALLOWED_STEPS, -1 / 400);
  });

  it('allows again where the voltage goes from one side of the window to the other', () => {
    const { rows, at } = outside(MODE_FOLLOW, 191, -20);
    plant(rows, at + 10, 30, (row) => {
      row.measured_V = 20;
    });
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 2 });
  });

  it.each([60, 190])('lets Z go down at %i V, the edge of the window', (V) => {
    expect(verdict(NAME, outside(MODE_FOLLOW, V, -40).rows)).toMatchObject({ kept: true, checked: 0 });
  });

  it('allows the ramp of the speed that Z had', () => {
    const falling = (rows: MadeRow[], at: number) => {
      plant(rows, at - 10, 10, (row) => {
        row.z_steps = -4;
      });
    };
    // 10 mm/s, taken as up to 13.6 mm/s: (17 steps in 4 ms and 3 mm/s gained) a ramp of 24.8 steps at 1500 mm/s².
    expectKept(verdict(NAME, outside(MODE_FOLLOW, 200, -36, falling).rows));
    expect(verdict(NAME, outside(MODE_FOLLOW, 200, -38, falling).rows).kept).toBe(false);
  });

  it('counts from the highest place, and again each time the voltage leaves the window', () => {
    const twice = (gap: number) => {
      const rows = madeCut();
      const at = firstIn(rows, MODE_FOLLOW) + 15;
      for (const start of [at, at + 10 + gap]) {
        plant(rows, start, 10, (row) => {
          row.measured_V = 200;
          row.z_steps = -1;
        });
      }
      return verdict(NAME, rows);
    };
    expect(twice(0)).toMatchObject({ kept: false, checked: 1 });
    expect(twice(20)).toMatchObject({ kept: true, checked: 2 });
  });
});

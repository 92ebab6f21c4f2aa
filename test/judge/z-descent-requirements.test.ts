import { describe, expect, it } from 'vitest';
import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_RETRACT,
  MODE_SETTLE,
  MODE_STRIKE,
} from '../../firmware/wire/codes.gen.js';
import { FLAG_HOMED, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, type MadeRow, MadeRun, madeCut, plant, STEPS_PER_MM } from './made-cut.js';

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

/** One step down in each of `count` rows from some way into a mode. */
function sink(mode: number, count: number, after = 0) {
  const rows = madeCut();
  const at = plant(rows, firstIn(rows, mode) + after, count, (row) => {
    row.z_steps! -= 1;
  });
  return { rows, at };
}

describe('requirement 5, descent-only-in-follow', () => {
  const NAME = 'descent-only-in-follow';

  it('is kept by a correct cut', () => expectKept(verdict(NAME, madeCut())));

  it.each([
    ['strike', MODE_STRIKE],
    ['pierce', MODE_PIERCE],
  ])('is broken by Z going down in %s', (_, mode) => {
    // Two steps are what rounding may do; the same ten are missed again at cut height.
    expect(verdict(NAME, sink(mode, 10).rows)).toMatchObject({ kept: false, margin: -8 / STEPS_PER_MM });
  });

  it('is kept by two steps of rounding in pierce and broken by the third', () => {
    expect(verdict(NAME, sink(MODE_PIERCE, 2).rows)).toMatchObject({ kept: true, margin: 0 });
    expect(verdict(NAME, sink(MODE_PIERCE, 3).rows)).toMatchObject({ kept: false, margin: -1 / STEPS_PER_MM });
  });

  it.each([
    [0, true],
    [600, false],
  ])('lets Z down to pierce height after a stroke, and not %i steps further', (further, kept) => {
    const rows = madeCut();
    const at = firstIn(rows, MODE_PIERCE) + 20;
    plant(rows, at, 50, (row) => {
      row.z_steps = 8;
    });
    plant(rows, at + 60, 50, (row) => {
      row.z_steps = -8;
    });
    // What went too far is made up for before the torch is lowered: only the stroke is judged.
    plant(rows, at + 120, 1, (row) => {
      row.z_steps = -further;
    });
    plant(rows, at + 140, 1, (row) => {
      row.z_steps = further;
    });
    expect(verdict(NAME, rows).kept).toBe(kept);
  });

  it.each([
    ['lift', MODE_LIFT],
    ['retract', MODE_RETRACT],
  ])('is broken by a fall of a millimetre in %s', (_, mode) => {
    const rows = madeCut();
    plant(rows, firstIn(rows, mode) + 20, 50, (row) => {
      row.z_steps = -8;
    });
    expect(verdict(NAME, rows).kept).toBe(false);
  });

  it('is broken by Z going down in a fault', () => {
    const run = new MadeRun().add(100, { mode: MODE_FAULT, fault: 1 }).add(100, { mode: MODE_FAULT, fault: 1 }, -5);
    expect(verdict(NAME, run.rows).kept).toBe(false);
  });

  it('lets Z come to rest from the speed that it entered a mode with', () => {
    const ramp = new MadeRun().add(50, { mode: MODE_FOLLOW }, -10).add(50, { mode: MODE_RETRACT }, 0);
    expectKept(verdict(NAME, ramp.rows));
    const on = new MadeRun().add(50, { mode: MODE_FOLLOW }, -10).add(50, { mode: MODE_RETRACT }, -10);
    expect(verdict(NAME, on.rows).kept).toBe(false);
  });

  it.each([
    ['settle', MODE_SETTLE],
    ['hold', MODE_HOLD],
  ])('lets Z down along the steepest slope that is believed in %s, and no steeper', (_, mode) => {
    // 8 X steps of 160/mm a tick are 0.05 mm; a slope of 0.12 of that is 2.4 steps of Z.
    const rows = (steps: readonly number[]) => {
      const made = madeCut();
      plant(made, firstIn(made, mode), 60, (row, index) => {
        row.z_steps = -steps[index % steps.length];
      });
      return made;
    };
    expectKept(verdict(NAME, rows([2, 3, 2, 2, 3])));
    const steep = verdict(NAME, rows([3]));
    expect(steep.kept).toBe(false);
    expect(steep.unit).toBe('mm');
  });

  it('does not let Z down in a hold at standstill, by more than backlash and rounding', () => {
    const still = (steps: number) => {
      const rows = madeCut({ x_steps: 0 });
      const at = plant(rows, firstIn(rows, MODE_HOLD) + 20, steps, (row) => {
        row.z_steps = -1;
      });
      return { result: verdict(NAME, rows), at };
    };
    // 25 µm of backlash are 10 steps, and two are rounding.
    expect(still(12).result).toMatchObject({ kept: true, margin: 0 });
    expectBroken(still(13).result, still(13).at + 12, -1 / STEPS_PER_MM);
  });

  it('does not let Z down at all when the hold is frozen', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_HOLD), 60, (row) => {
      row.z_steps = -2;
    });
    expectKept(verdict(NAME, rows));
    expect(verdict(NAME, rows, { hold_carried: 0 }).kept).toBe(false);
  });

  it('does not let Z give back in a hold what it has risen', () => {
    const rows = madeCut({ x_steps: 0 });
    plant(rows, firstIn(rows, MODE_HOLD), 100, (row, index) => {
      row.z_steps = index < 50 ? 1 : -1;
    });
    expect(verdict(NAME, rows).kept).toBe(false);
  });

  it('lets Z down to cut height in lower, and no further', () => {
    expect(verdict(NAME, sink(MODE_LOWER, 2).rows).kept).toBe(true);
    expect(verdict(NAME, sink(MODE_LOWER, 3).rows)).toMatchObject({ kept: false });
    expect(verdict(NAME, sink(MODE_LOWER, 3).rows).margin).toBeCloseTo(-1 / STEPS_PER_MM, 9);
  });

  it('lets Z down in follow', () => {
    const rows = sink(MODE_FOLLOW, 100).rows;
    expectKept(verdict(NAME, rows));
  });
});

describe('requirement 6, descent-after-arc-loss', () => {
  const NAME = 'descent-after-arc-loss';

  /** Follows downward at 10 mm/s, loses the arc, goes on down for `on_ms`, stops by the ramp. */
  function loss(on_ms: number, told: boolean) {
    const row = { mode: MODE_FOLLOW, digital_outputs: OUTPUT_TRIGGER, burning: 1, flags: 1 | FLAG_HOMED };
    const run = new MadeRun().add(100, row, -10);
    const lost = told ? { ...row, flags: FLAG_HOMED } : { ...row, burning: 0 };
    run.add(on_ms, lost, -10).add(200, lost, 0);
    return run.rows;
  }

  it('is kept when Z stops by its ramp from the tick in which the box says that the arc is out', () => {
    expectKept(verdict(NAME, loss(0, true)));
  });

  it('is broken when Z then goes on down', () => {
    expect(verdict(NAME, loss(20, true)).kept).toBe(false);
  });

  it('gives the box the time to notice a loss, and no more', () => {
    expectKept(verdict(NAME, loss(25, false)));
    expect(verdict(NAME, loss(60, false)).kept).toBe(false);
  });

  it('is broken by Z that starts to go down after the loss', () => {
    const row = { mode: MODE_FOLLOW, digital_outputs: OUTPUT_TRIGGER, burning: 1, flags: 1 };
    const rows = new MadeRun()
      .add(100, row)
      .add(50, { ...row, burning: 0 })
      .add(100, { ...row, burning: 0 }, -10).rows;
    expect(verdict(NAME, rows).kept).toBe(false);
  });

  it('does not count the end of a cut by request as a loss', () => {
    expect(verdict(NAME, madeCut())).toMatchObject({ checked: 0, kept: true });
  });

  it('lets Z go on along the slope until the box knows', () => {
    const row = { mode: MODE_HOLD, digital_outputs: OUTPUT_TRIGGER, burning: 1, flags: 1, x_steps: 8 };
    const rows = new MadeRun().add(100, row, -5).add(300, { ...row, burning: 0 }, -5).rows;
    expectKept(verdict(NAME, rows));
    const still = rows.map((made) => ({ ...made, x_steps: 0 }));
    expect(verdict(NAME, still).kept).toBe(false);
  });
});

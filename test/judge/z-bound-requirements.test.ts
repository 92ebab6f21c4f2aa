import { describe, expect, it } from 'vitest';
import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_PIERCE,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  MODE_SETTLE,
} from '../../firmware/wire/codes.gen.js';
import { INPUT_STOP_CHAIN, OUTPUT_TRIGGER, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, MadeRun, madeCut, plant, START_MM, STEPS_PER_MM } from './made-cut.js';

const lastRest = (rows: ReturnType<typeof madeCut>) => firstIn(rows, MODE_REST, firstIn(rows, MODE_PIERCE));

describe('requirement 8, ownership-idle', () => {
  const NAME = 'ownership-idle';

  it('is kept by a correct cut, which takes Z once and gives it back', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    expect(result.checked).toBe(2);
  });

  it('is broken by a step in the tick of the take-over', () => {
    const rows = madeCut();
    const at = plant(rows, firstIn(rows, MODE_SEEK), 1, (row) => {
      row.z_steps = -1;
    });
    expectBroken(verdict(NAME, rows), at, -1);
  });

  it('is broken by a step in the tick of the hand-back, and by each one after it', () => {
    const rows = madeCut();
    const at = plant(rows, lastRest(rows), 3, (row) => {
      row.z_steps = 1;
    });
    expectBroken(verdict(NAME, rows), at, -3);
  });
});

describe('requirement 8, hand-back', () => {
  const NAME = 'hand-back';

  it('is kept when Z is back where it was taken', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    expect(result).toMatchObject({ margin: 0, checked: 1 });
  });

  it.each([1, -7])('is broken by Z that is %i steps off', (steps) => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_PIERCE), 1, (row) => {
      row.z_steps = steps;
    });
    expectBroken(verdict(NAME, rows), lastRest(rows), -Math.abs(steps));
  });

  it('is kept when the box says that Z must be homed', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_PIERCE), 1, (row) => {
      row.z_steps = 5;
    });
    plant(rows, lastRest(rows), 1, (row) => {
      row.flags = 0;
    });
    expectKept(verdict(NAME, rows));
  });

  it("does not ask for the box's own idea of Z", () => {
    const rows = madeCut();
    for (const row of rows) row.z = 12345;
    expectKept(verdict(NAME, rows));
  });
});

describe('requirement 5, stop-chain-stops-z', () => {
  const NAME = 'stop-chain-stops-z';
  const closed = { mode: MODE_LIFT, digital_inputs: INPUT_STOP_CHAIN };
  const open = { mode: MODE_FAULT, digital_inputs: 0 };

  it('is kept when Z stops by its ramp', () => {
    const rows = new MadeRun().add(100, closed, 40).add(500, open, 0).rows;
    const result = verdict(NAME, rows);
    expectKept(result);
    expect(result.checked).toBe(1);
  });

  it.each([40, -12])('is broken when Z goes on at %i mm/s', (speed_mm_s) => {
    const rows = new MadeRun().add(100, closed, speed_mm_s).add(500, open, speed_mm_s).rows;
    expect(verdict(NAME, rows).kept).toBe(false);
  });

  it('is broken by a single step long after Z had stopped', () => {
    const rows = new MadeRun().add(100, closed).add(500, open).rows;
    rows[400].z_steps = 1;
    // Two ticks are allowed from standstill; row 400 is 300 ticks after the chain opened.
    expectBroken(verdict(NAME, rows), 400, 2 - 300);
  });

  it('lets a step out in the tick after the opening and one later, and none after that', () => {
    const withStep = (at: number) => {
      const rows = new MadeRun().add(100, closed).add(100, open).rows;
      rows[at].z_steps = 1;
      return verdict(NAME, rows);
    };
    expect(withStep(102)).toMatchObject({ kept: true, margin: 0 });
    expect(withStep(103)).toMatchObject({ kept: false, margin: -1 });
  });

  it('says nothing about Z once the chain is intact again', () => {
    const rows = new MadeRun().add(100, closed).add(100, open).add(100, closed, 10).rows;
    expectKept(verdict(NAME, rows));
  });
});

describe('requirement 5, rise-after-fall', () => {
  const NAME = 'rise-after-fall';

  it('has a margin of how far the voltage was below rest_V when the rise began', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    expect(result.checked).toBe(1);
    expect(result.margin).toBe(25 - 1);
  });

  it('is broken by a rise while the voltage is still up', () => {
    const rows = madeCut();
    const start = firstIn(rows, MODE_RETRACT);
    plant(rows, start, rows.length - start, (row) => {
      row.measured_V = 40;
    });
    const result = verdict(NAME, rows);
    expect(result).toMatchObject({ kept: false, margin: 25 - 40 });
  });

  it('holds for the rise after a fault too', () => {
    const arc = { mode: MODE_FOLLOW, digital_outputs: OUTPUT_TRIGGER, measured_V: 118 };
    const risen = (measured_V: number) =>
      verdict(NAME, new MadeRun().add(100, arc).add(300, { mode: MODE_FAULT, fault: 7, measured_V }, 10).rows);
    expectKept(risen(24));
    expect(risen(26)).toMatchObject({ kept: false, margin: -1 });
  });

  it('lets Z come to rest from an upward speed before the voltage has fallen', () => {
    const arc = { mode: MODE_FOLLOW, digital_outputs: OUTPUT_TRIGGER, measured_V: 118 };
    const rows = new MadeRun().add(100, arc, 20).add(300, { mode: MODE_RETRACT, measured_V: 118 }, 0).rows;
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 0 });
  });

  it('asks for the fall since this arc, not since an earlier one', () => {
    const rows = [...madeCut(), ...madeCut()];
    const start = firstIn(rows, MODE_RETRACT, madeCut().length);
    plant(rows, start, 200, (row) => {
      row.measured_V = 40;
    });
    expect(verdict(NAME, rows)).toMatchObject({ kept: false, margin: -15 });
  });
});

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

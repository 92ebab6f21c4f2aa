import { describe, expect, it } from 'vitest';
import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LOWER,
  MODE_RETRACT,
  MODE_SETTLE,
} from '../../firmware/wire/codes.gen.js';
import {
  FLAG_HOMED,
  INPUT_REQUEST,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
} from '../../firmware/wire/layout.gen.js';
import { expectBroken, expectKept, madeContext, verdict } from './judge.js';
import { CUTTING, firstIn, MadeRun, madeCut, plant, STEPS_PER_MM } from './made-cut.js';

describe('requirement 7, permit-condition', () => {
  const NAME = 'permit-condition';

  it('is kept by a correct cut, over settle, follow and hold', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    expect(result.checked).toBe(60 + 400 + 200 + 400);
  });

  it.each([
    ['without arc OK', { flags: FLAG_HOMED }],
    ['with a fault', { fault: 7 }],
    ['in lower', { mode: MODE_LOWER }],
    ['in retract', { mode: MODE_RETRACT }],
  ])('is broken by a permit %s', (_, change) => {
    const rows = madeCut();
    const at = plant(rows, firstIn(rows, MODE_HOLD), 2, (row) => Object.assign(row, change));
    expectBroken(verdict(NAME, rows), at, -2);
  });
});

describe('requirement 7, permit-height', () => {
  const NAME = 'permit-height';

  it('is kept at cut height', () => {
    expectKept(verdict(NAME, madeCut()));
    expect(verdict(NAME, madeCut()).margin).toBeCloseTo(0.05, 9);
  });

  it.each([
    [20, true],
    [21, false],
    [-20, true],
    [-21, false],
  ])('with Z %i steps off cut height is kept: %s', (steps, kept) => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_SETTLE) - 1, 1, (row) => {
      row.z_steps! += steps;
    });
    const result = verdict(NAME, rows);
    expect(result.margin).toBeCloseTo(0.05 - Math.abs(steps) / STEPS_PER_MM, 9);
    // Twenty steps are the 0.05 mm but for the rounding of f64.
    expect(result.margin! > -1e-9).toBe(kept);
  });

  it('is broken by a permit without a touch-off', () => {
    const rows = new MadeRun().add(10, { mode: MODE_SETTLE }).add(10, CUTTING).rows;
    expect(verdict(NAME, rows)).toMatchObject({ kept: false, worst_tick: 10 });
  });
});

describe('requirement 7, permit-withdrawal', () => {
  const NAME = 'permit-withdrawal';
  const cutting = { ...CUTTING, mode: MODE_FOLLOW };
  const { permit_off_ms } = madeContext();

  /** The arc goes out; the permit stays for `ms` more. */
  function lose(ms: number) {
    const run = new MadeRun().add(100, cutting).add(ms, { ...cutting, burning: 0 });
    return run.add(100, { mode: MODE_FAULT, fault: 7, digital_inputs: INPUT_REQUEST }).rows;
  }

  it('allows the sensing, a crossing and the debounce of the arc', () => {
    expect(permit_off_ms).toBe(20 + 400 + 100);
    expect(madeContext({ arc_off_ms: 50, crossing_ms: 100 }).permit_off_ms).toBe(20 + 50 + 100);
  });

  it('is kept to the very millisecond', () => {
    expect(verdict(NAME, lose(permit_off_ms))).toMatchObject({ kept: true, margin: 0, checked: 1 });
    expectBroken(verdict(NAME, lose(permit_off_ms + 1)), 100 + permit_off_ms + 1, -1);
  });

  it('does not count an arc that burns again in time', () => {
    const rows = new MadeRun()
      .add(100, cutting)
      .add(100, { ...cutting, burning: 0 })
      .add(3000, cutting)
      .add(100, { mode: MODE_RETRACT }).rows;
    expectKept(verdict(NAME, rows));
  });

  it('counts a permit that is never withdrawn', () => {
    const rows = new MadeRun().add(100, cutting).add(2000, { ...cutting, burning: 0 }).rows;
    expect(verdict(NAME, rows).margin).toBe(permit_off_ms - 2000);
  });
});

describe('requirement 7, stray-motion', () => {
  const NAME = 'stray-motion';
  const cutting = { ...CUTTING, mode: MODE_FOLLOW };
  const fault = { mode: MODE_FAULT, fault: 7, digital_inputs: INPUT_REQUEST };
  const STRAY_MS = 800;

  it('is kept by a table that brakes and stops', () => {
    const rows = new MadeRun()
      .add(100, cutting)
      .add(200, { ...fault, x_steps: 8 })
      .add(2000, fault).rows;
    expectKept(verdict(NAME, rows));
    expect(verdict(NAME, rows).margin).toBe(STRAY_MS + 2 - 200);
  });

  it('is kept to the tick when the latched stop is set in time, and broken by the next', () => {
    const driven = (ms: number) =>
      new MadeRun()
        .add(100, cutting)
        .add(ms, { ...fault, y_steps: -1 })
        .add(100, { ...fault, y_steps: -1, digital_outputs: OUTPUT_LATCHED_STOP }).rows;
    expect(verdict(NAME, driven(STRAY_MS + 2))).toMatchObject({ kept: true, margin: 0 });
    expectBroken(verdict(NAME, driven(STRAY_MS + 3)), 100 + STRAY_MS + 2, -1);
  });

  it('counts a slow motion too, that has no step in every tick', () => {
    const rows = new MadeRun().add(100, cutting).add(1500, fault).rows;
    for (let row = 100; row < rows.length; row += 20) rows[row].x_steps = 1;
    expect(verdict(NAME, rows).kept).toBe(false);
  });

  it('begins again after a standstill', () => {
    const moving = { ...fault, x_steps: 8 };
    const rows = new MadeRun().add(100, cutting).add(500, moving).add(60, fault).add(500, moving).rows;
    expectKept(verdict(NAME, rows));
  });

  it('allows a table that moves on after the request went off', () => {
    const rows = [...madeCut(), ...new MadeRun().add(2000, { x_steps: 8, digital_inputs: 5 }).rows];
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 0 });
  });
});

describe('requirement 7, no-restrike', () => {
  const NAME = 'no-restrike';

  it('counts each cut that has ended, and is kept by a new touch-off', () => {
    const rows = [...madeCut(), ...madeCut()];
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 2, margin: 0 });
  });

  it('is broken by a trigger that comes back in the middle of a contour', () => {
    const rows = madeCut();
    const at = plant(rows, firstIn(rows, MODE_FOLLOW) + 100, 50, (row) => {
      row.digital_outputs! &= ~(OUTPUT_TRIGGER | OUTPUT_PERMIT);
    });
    expectBroken(verdict(NAME, rows), at + 50, -1);
  });

  it('lets a strike that failed before the permit be tried again', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_SETTLE) - 200, 50, (row) => {
      row.digital_outputs! &= ~OUTPUT_TRIGGER;
    });
    expectKept(verdict(NAME, rows));
  });
});

describe('requirement 7, standstill', () => {
  const NAME = 'standstill';
  const standing = { ...CUTTING, mode: MODE_FOLLOW, x_steps: 0 };
  /** standstill_s, seven times the low-pass and its tick, and two ticks. */
  const LONGEST_MS = 5000 + 7 * 13 + 2;

  it('is kept by a correct cut', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    expect(result.checked).toBe(60 + 400 + 200 + 400);
  });

  it('is kept to the very millisecond, whatever the box counts of steps', () => {
    for (const x_steps of [0, 8]) {
      const stood = (ms: number) => new MadeRun().add(ms, { ...standing, x_steps }).add(100, { mode: MODE_FAULT }).rows;
      expect(verdict(NAME, stood(LONGEST_MS))).toMatchObject({ kept: true, margin: 0, checked: LONGEST_MS });
      expectBroken(verdict(NAME, stood(LONGEST_MS + 1)), LONGEST_MS, -1);
    }
    const slower = new MadeRun().add(LONGEST_MS + 1, standing).rows;
    expect(verdict(NAME, slower, { standstill_s: 6 }).margin).toBe(999);
    expect(verdict(NAME, slower, { feed_filter_ms: 13 }).margin).toBe(6);
  });

  it.each(['x_mm', 'y_mm'] as const)('counts again when the table has moved in %s, without a step counted', (axis) => {
    const rows = new MadeRun().add(2 * LONGEST_MS, standing).rows;
    for (const row of rows.slice(LONGEST_MS)) row[axis] = 0.001;
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, margin: 0 });
  });

  it.each([
    ['without a permit', { digital_outputs: OUTPUT_TRIGGER }],
    ['without an arc', { burning: 0 }],
  ])('does not count time %s', (_, change) => {
    const rows = new MadeRun().add(2 * LONGEST_MS, { ...standing, ...change }).rows;
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 0 });
  });
});

import { describe, expect, it } from 'vitest';
import { MODE_PIERCE, MODE_REST, MODE_SEEK } from '../../firmware/wire/codes.gen.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, madeCut, plant } from './made-cut.js';

const lastRest = (rows: ReturnType<typeof madeCut>) => firstIn(rows, MODE_REST, firstIn(rows, MODE_PIERCE));

describe('requirement 8, ownership-idle', () => {
  const NAME = 'ownership-idle';

  it('is kept by a cut by the judge, which takes Z once and gives it back', () => {
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

  it('does not mind when the box says that Z must be homed', () => {
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

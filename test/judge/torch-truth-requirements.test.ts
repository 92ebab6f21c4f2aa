import { describe, expect, it } from 'vitest';
import { MODE_FOLLOW, MODE_LIFT, MODE_SEEK } from '../../firmware/wire/codes.gen.js';
import { INPUT_TOUCH, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, type MadeRow, madeCut, plant } from './made-cut.js';

/** A correct cut with a change in the middle of follow. */
function changed(ms: number, change: (row: MadeRow) => void) {
  const rows = madeCut();
  return { rows, at: plant(rows, firstIn(rows, MODE_FOLLOW) + 50, ms, change) };
}
const at_mm =
  (standoff_mm: number, more: MadeRow = {}) =>
  (row: MadeRow) =>
    Object.assign(row, { standoff_mm, ...more });

describe('requirement 14, least-standoff', () => {
  const NAME = 'least-standoff';

  it('is kept by a correct cut, with the distance from a third of cut height', () => {
    expectKept(verdict(NAME, madeCut()));
    expect(verdict(NAME, madeCut()).margin).toBeCloseTo(1, 6);
    expect(verdict(NAME, madeCut(), { cut_height_mm: 3 }).margin).toBeCloseTo(0.5, 6);
  });

  it('is kept 0.01 mm above it for a millisecond, and broken 0.01 mm below', () => {
    expect(verdict(NAME, changed(1, at_mm(0.51)).rows).margin).toBeCloseTo(0.01, 6);
    const { rows, at } = changed(1, at_mm(0.49));
    expectBroken(verdict(NAME, rows), at, Math.fround(0.49) - 0.5);
  });

  it.each([
    ['nothing moves', { feed_mm_s: 0, z_steps: 0 }],
    ['no arc burns', { burning: 0 }],
    ['the trigger is off', { digital_outputs: 0 }],
    ['there is no sheet', { off_sheet: 1 }],
  ])('does not count while %s', (_, more) => {
    expect(verdict(NAME, changed(1, at_mm(0.1, more)).rows).kept).toBe(true);
  });
});

describe('requirement 14, contact-ends-cut', () => {
  const NAME = 'contact-ends-cut';

  it('is kept to the millisecond and broken by the next', () => {
    expectKept(verdict(NAME, madeCut()));
    expect(verdict(NAME, changed(200, at_mm(0)).rows)).toMatchObject({ kept: true, margin: 0 });
    const { rows, at } = changed(201, at_mm(0));
    expectBroken(verdict(NAME, rows), at + 200, -1);
    expect(verdict(NAME, rows).kind).toBe('goal');
  });

  it('begins again when the tip was free, when the trigger was off, and beyond the sheet', () => {
    for (const change of [{ standoff_mm: 0.01 }, { digital_outputs: 0 }, { off_sheet: 1 }]) {
      const { rows, at } = changed(300, at_mm(0));
      Object.assign(rows[at + 150], change);
      expect(verdict(NAME, rows).margin).toBe(50);
    }
  });
});

describe('requirement 14, touch-ends-cut', () => {
  const NAME = 'touch-ends-cut';
  const close = (row: MadeRow) => {
    row.digital_inputs! |= INPUT_TOUCH;
  };

  it('is kept to the millisecond and broken by the next', () => {
    expectKept(verdict(NAME, madeCut()));
    expect(verdict(NAME, changed(50, close).rows)).toMatchObject({ kept: true, margin: 0 });
    const { rows, at } = changed(51, close);
    expectBroken(verdict(NAME, rows), at + 50, -1);
  });

  it('begins again when the switch opens', () => {
    const { rows, at } = changed(80, close);
    rows[at + 40].digital_inputs! &= ~INPUT_TOUCH;
    expect(verdict(NAME, rows).margin).toBe(10);
  });

  it('allows what a switch does in the touch-off, and without a trigger', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_SEEK), firstIn(rows, MODE_LIFT) + 5 - firstIn(rows, MODE_SEEK), close);
    expectKept(verdict(NAME, rows));
    const cut = changed(60, close);
    plant(cut.rows, cut.at + 20, 20, (row) => {
      row.digital_outputs! &= ~OUTPUT_TRIGGER;
    });
    expect(verdict(NAME, cut.rows).margin).toBe(30);
  });
});

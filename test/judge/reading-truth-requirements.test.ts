import { describe, expect, it } from 'vitest';
import { MODE_FOLLOW, MODE_REST } from '../../firmware/wire/codes.gen.js';
import { OUTPUT_LATCHED_STOP, OUTPUT_PERMIT } from '../../firmware/wire/layout.gen.js';
import { expectKept, verdict } from './judge.js';
import { firstIn, type MadeRow, madeCut, plant } from './made-cut.js';

/** A correct cut with a change from follow on, so many milliseconds long. */
function changed(ms: number, change: (row: MadeRow) => void) {
  const rows = madeCut();
  const at = firstIn(rows, MODE_FOLLOW) + 50;
  // Looked at every 5 ms.
  plant(rows, at - (at % 5), ms, change);
  return rows;
}

describe('requirement 15, reading-ends-cut', () => {
  const NAME = 'reading-ends-cut';
  const false_by = (by_V: number) => (row: MadeRow) => {
    row.true_V = row.measured_V! + by_V;
  };

  it('is kept by a correct cut and by a voltage that is just near enough', () => {
    expectKept(verdict(NAME, changed(0, false_by(0))));
    expect(verdict(NAME, changed(900, false_by(14.9))).margin).toBe(500);
  });

  it.each([15.1, -15.1])('is kept for 500 ms with %f V, and broken after it', (by_V) => {
    expect(verdict(NAME, changed(500, false_by(by_V)))).toMatchObject({ kept: true, margin: 0 });
    expect(verdict(NAME, changed(505, false_by(by_V)))).toMatchObject({ kept: false, margin: -5, kind: 'requirement' });
  });

  it('begins again when they agree, and where there is no permit', () => {
    const rows = changed(900, false_by(40));
    const at = firstIn(rows, MODE_FOLLOW) + 450;
    for (let row = at; row < at + 5; row++) rows[row].true_V = rows[row].measured_V!;
    expect(verdict(NAME, rows).kept).toBe(true);
    const without = changed(900, (row) => {
      false_by(40)(row);
      row.digital_outputs! &= ~OUTPUT_PERMIT;
    });
    expect(verdict(NAME, without).kept).toBe(true);
  });
});

describe('requirement 15, rest-means-rest', () => {
  const NAME = 'rest-means-rest';
  /** An arc at rest, which the box does not measure. */
  function burning(ms: number, latched_after_ms = Number.POSITIVE_INFINITY) {
    const rows = madeCut();
    for (let n = 0; n < 900; n++) rows.push({ ...rows.at(-1) });
    const rest = firstIn(rows, MODE_REST, firstIn(rows, MODE_FOLLOW));
    plant(rows, rest, ms, (row, index) => {
      row.burning = 1;
      row.measured_V = 0;
      if (index >= latched_after_ms) row.digital_outputs = OUTPUT_LATCHED_STOP;
    });
    return rows;
  }

  it('is kept for fall_ms and 200 ms of an arc that the box does not see, and broken by the next', () => {
    expect(verdict(NAME, madeCut()).kept).toBe(true);
    expect(verdict(NAME, burning(700))).toMatchObject({ kept: true, margin: 0 });
    expect(verdict(NAME, burning(701))).toMatchObject({ kept: false, margin: -1 });
    expect(verdict(NAME, burning(701), { fall_ms: 600 }).margin).toBe(99);
  });

  it('is kept where the latched stop is set in time', () => {
    expect(verdict(NAME, burning(900, 600)).margin).toBe(100);
    expect(verdict(NAME, burning(900, 720)).margin).toBe(-20);
  });
});

describe('requirement 15, most-standoff', () => {
  const NAME = 'most-standoff';
  const at_mm =
    (standoff_mm: number, more: MadeRow = {}) =>
    (row: MadeRow) =>
      Object.assign(row, { standoff_mm, ...more });

  it('is kept for 500 ms too high, and missed after it', () => {
    expectKept(verdict(NAME, madeCut()));
    expect(verdict(NAME, changed(900, at_mm(4.49))).margin).toBe(500);
    expect(verdict(NAME, changed(500, at_mm(4.51)))).toMatchObject({ kept: true, margin: 0 });
    expect(verdict(NAME, changed(505, at_mm(4.51)))).toMatchObject({ kept: false, margin: -5, kind: 'goal' });
  });

  it.each([
    ['no arc burns', { burning: 0 }],
    ['there is no permit', { digital_outputs: 0 }],
    ['there is no sheet', { off_sheet: 1 }],
  ])('does not count while %s', (_, more) => {
    expect(verdict(NAME, changed(900, at_mm(9, more))).kept).toBe(true);
  });
});

import { describe, expect, it } from 'vitest';
import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
} from '../../firmware/wire/codes.gen.js';
import { FLAG_ARC_OK, OUTPUT_PERMIT, OUTPUT_TRIGGER, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import { expectBroken, expectKept, madeContext, verdict } from './judge.js';
import { CUTTING, firstIn, type MadeRow, MadeRun, madeCut, plant } from './made-cut.js';

/** As MotionState of the table. */
const BRAKING = 3;
const dark = (row: MadeRow) => {
  row.burning = 0;
};
/** Rows with the table moved on by 0.05 mm each, along X. */
function moved(rows: MadeRow[], from: number, count: number): MadeRow[] {
  for (let at = from; at < rows.length; at++) {
    const way_mm = 0.05 * Math.min(count, at - from + 1);
    rows[at].x_mm = (rows[at].x_mm ?? 0) + way_mm;
    rows[at].path_mm = (rows[at].path_mm ?? 0) + way_mm;
  }
  return rows;
}

describe('requirement 12, permit-over-arc', () => {
  const NAME = 'permit-over-arc';

  it('is kept by a correct cut, and by an arc that goes out later', () => {
    const rows = madeCut();
    expectKept(verdict(NAME, rows));
    plant(rows, firstIn(rows, MODE_SETTLE), 500, dark);
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 60 + 400 + 200 + 400 });
  });

  it('is broken by a permit before the arc, for as long as that lasts', () => {
    const rows = madeCut();
    const settle = firstIn(rows, MODE_SETTLE);
    plant(rows, 0, settle + 10, dark);
    expectBroken(verdict(NAME, rows), settle, -10);
  });

  it('does not count the arc of an earlier strike', () => {
    const rows = [...madeCut(), ...madeCut()];
    const settle = firstIn(rows, MODE_SETTLE, rows.length / 2);
    plant(rows, rows.length / 2, settle + 1 - rows.length / 2, dark);
    expectBroken(verdict(NAME, rows), settle, -1);
  });
});

describe('requirement 12, motion-over-arc', () => {
  const NAME = 'motion-over-arc';
  const { permit_off_ms } = madeContext();
  const over = { ...CUTTING, mode: MODE_FOLLOW, burning: 0 };
  const run = (ms: number, row: MadeRow) => moved(new MadeRun().add(10 + ms, row).rows, 10, ms);

  it('is kept by a correct cut, which shows the whole bound as its margin', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    expect(result.margin).toBe(permit_off_ms);
  });

  it('allows what permit-withdrawal allows under a permit, to the millisecond', () => {
    expect(verdict(NAME, run(permit_off_ms, over))).toMatchObject({ kept: true, margin: 0, checked: permit_off_ms });
    expectBroken(verdict(NAME, run(permit_off_ms + 1, over)), 10 + permit_off_ms, -1);
  });

  it('allows stray_ms without one, to the millisecond, and any time to a table that brakes', () => {
    const without = { ...over, digital_outputs: OUTPUT_Z_OWNED };
    expect(verdict(NAME, run(802, without))).toMatchObject({ kept: true, margin: 0 });
    expectBroken(verdict(NAME, run(803, without)), 10 + 802, -1);
    expect(verdict(NAME, run(803, { ...without, table_state: BRAKING }))).toMatchObject({ kept: true, checked: 0 });
  });

  it('begins again with an arc, and does not count a table at rest', () => {
    const rows = run(900, over);
    rows[400].burning = 1;
    expect(verdict(NAME, rows)).toMatchObject({ kept: true });
    expect(verdict(NAME, new MadeRun().add(900, over).rows)).toMatchObject({ kept: true, checked: 0 });
  });
});

describe('requirement 12, motion-before-permit', () => {
  const NAME = 'motion-before-permit';

  it('is kept by a correct cut', () => expectKept(verdict(NAME, madeCut())));

  it.each([MODE_SEEK, MODE_PIERCE, MODE_LOWER])('in mode %i is kept to the tick, and broken by the next', (mode) => {
    const at = firstIn(madeCut(), mode);
    expect(verdict(NAME, moved(madeCut(), at, 52))).toMatchObject({ kept: true, margin: 0 });
    expectBroken(verdict(NAME, moved(madeCut(), at, 53)), at + 52, -1);
  });

  it('is kept by a fault in time, by a table that brakes, and over a torch that is not the box’s', () => {
    const at = firstIn(madeCut(), MODE_PIERCE);
    for (const change of [{ mode: MODE_FAULT, fault: 17 }, { table_state: BRAKING }, { digital_outputs: 0 }]) {
      const rows = moved(madeCut(), at, 200);
      plant(rows, at + 30, 200, (row) => Object.assign(row, change));
      expect(verdict(NAME, rows).margin).toBe(22);
    }
  });
});

describe('requirement 12, permit-without-arc', () => {
  const NAME = 'permit-without-arc';

  it('is kept to the millisecond and broken by the next, wherever the arc goes out', () => {
    expectKept(verdict(NAME, madeCut()));
    for (const mode of [MODE_SETTLE, MODE_FOLLOW]) {
      const rows = madeCut();
      const at = plant(rows, firstIn(rows, mode), 50, dark);
      expect(verdict(NAME, rows)).toMatchObject({ kept: true, margin: 0 });
      dark(rows[at + 50]);
      expectBroken(verdict(NAME, rows), at + 50, -1);
    }
  });

  it('begins again with the arc', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_FOLLOW), 40, dark);
    plant(rows, firstIn(rows, MODE_FOLLOW) + 41, 40, dark);
    expect(verdict(NAME, rows).margin).toBe(10);
  });
});

describe('requirement 13, arc-on-one-spot', () => {
  const NAME = 'arc-on-one-spot';
  /** 1.5 mm at 40 mm/s with its ramps of 27 ms. */
  const WAY_MS = 37.5 + 80 / 3;
  /** strike_ms, arc_on_ms, 300 ms and six strokes, pierce_ms, the lowering, and 70 ms. */
  const LONGEST_MS = 1500 + 30 + 300 + 6 * (Math.ceil(2 * WAY_MS) + 25) + 500 + Math.ceil(WAY_MS) + 70;
  const arc = { mode: MODE_STRIKE, digital_outputs: OUTPUT_TRIGGER, burning: 1 };
  const gap = { mode: MODE_STRIKE };

  it('is kept by a correct cut', () => expectKept(verdict(NAME, madeCut())));

  it('counts all strikes of a touch-off, to the millisecond', () => {
    const strikes = (ms: number) => new MadeRun().add(1000, arc).add(700, gap).add(ms, arc).rows;
    expect(verdict(NAME, strikes(LONGEST_MS - 1000))).toMatchObject({ kept: true, margin: 0 });
    expectBroken(verdict(NAME, strikes(LONGEST_MS - 999)), LONGEST_MS + 700, -1);
  });

  it.each([
    ['a new touch-off', { mode: MODE_SEEK }, {}],
    ['1.1 mm of way', gap, { x_mm: 0.8, y_mm: 0.8 }],
  ])('begins again after %s', (_, between, place) => {
    const rows = new MadeRun()
      .add(3000, arc)
      .add(1, between)
      .add(3000, { ...arc, ...place }).rows;
    expectKept(verdict(NAME, rows));
  });

  it('does not begin again after less, and leaves what burns under a permit to standstill', () => {
    const near = new MadeRun().add(2000, arc).add(2000, { ...arc, x_mm: 0.7, y_mm: 0.7 }).rows;
    expect(verdict(NAME, near).kept).toBe(false);
    expect(verdict(NAME, new MadeRun().add(3000, CUTTING).rows).checked).toBe(0);
  });
});

describe('requirement 13, strike-count', () => {
  const NAME = 'strike-count';
  const strikes = (count: number) => {
    const run = new MadeRun();
    for (let at = 0; at < count; at++) run.add(10, { mode: MODE_STRIKE }).add(10, CUTTING);
    return run.rows;
  };

  it('is kept by as many strikes as are set, and broken by one more', () => {
    expectKept(verdict(NAME, madeCut()));
    expect(verdict(NAME, strikes(3))).toMatchObject({ kept: true, margin: 0, checked: 3 });
    expectBroken(verdict(NAME, strikes(4)), 70, -1);
    expectBroken(verdict(NAME, strikes(2), { strike_retries: 0 }), 30, -1);
  });

  it('begins again with a touch-off', () => {
    const rows = [...strikes(3), ...new MadeRun().add(1, { mode: MODE_SEEK }).rows, ...strikes(3)];
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 6 });
  });
});

describe('requirement 13, strike-time', () => {
  const NAME = 'strike-time';
  const waiting = { mode: MODE_STRIKE, digital_outputs: OUTPUT_TRIGGER };

  it('is kept to the tick and broken by the next, in each strike', () => {
    expectKept(verdict(NAME, madeCut()));
    const twice = (ms: number) => new MadeRun().add(1000, waiting).add(5, { mode: MODE_STRIKE }).add(ms, waiting).rows;
    expect(verdict(NAME, twice(1502))).toMatchObject({ kept: true, margin: 0 });
    expectBroken(verdict(NAME, twice(1503)), 1005 + 1502, -1);
  });

  it('lets the strokes of a proof go on over a pilot, 300 ms and six of them', () => {
    const pilot = (ms: number) => new MadeRun().add(1000, waiting).add(ms, { ...waiting, mode: MODE_PIERCE }).rows;
    const longest_ms = 502 + 300 + 6 * (Math.ceil(2 * (37.5 + 80 / 3)) + 25);
    expect(verdict(NAME, pilot(longest_ms))).toMatchObject({ kept: true, margin: 0 });
    expect(verdict(NAME, pilot(longest_ms + 1))).toMatchObject({ kept: false, margin: -1 });
  });

  it('says nothing of a strike that has its arc', () => {
    const rows = new MadeRun().add(1000, waiting).add(3000, { ...waiting, burning: 1 }).rows;
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 1000 });
  });
});

describe('requirement 13, pierce-dwell', () => {
  const NAME = 'pierce-dwell';

  it('is kept by a correct cut, and broken where pierce_ms is longer', () => {
    const { margin } = verdict(NAME, madeCut());
    expectKept(verdict(NAME, madeCut()));
    expect(verdict(NAME, madeCut(), { pierce_ms: 500 + margin! })).toMatchObject({ kept: true, margin: 0 });
    expect(verdict(NAME, madeCut(), { pierce_ms: 501 + margin! })).toMatchObject({ kept: false, margin: -1 });
  });

  it('counts from the last time that the arc was not OK, and up to the permit', () => {
    const rows = madeCut();
    const lower = firstIn(rows, MODE_LOWER);
    rows[lower - 300].flags! &= ~FLAG_ARC_OK;
    rows[lower - 100].digital_outputs! |= OUTPUT_PERMIT;
    expectBroken(verdict(NAME, rows), lower - 100, 199 - 500);
  });
});

describe('requirement 13, pierce-time', () => {
  const NAME = 'pierce-time';
  const SENSED_MS = 20 + 100;

  it('is kept by a correct cut, and broken by an arc that came a millisecond too late', () => {
    const rows = madeCut();
    const { margin, checked } = verdict(NAME, rows);
    expect(checked).toBe(1);
    const first = rows.findIndex((row) => row.burning === 1);
    plant(rows, first, margin!, dark);
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, margin: 0 });
    dark(rows[first + margin!]);
    expect(verdict(NAME, rows)).toMatchObject({ kept: false, margin: -1 });
  });

  it('is broken by the whole dwell where no arc burnt', () => {
    const rows = madeCut();
    plant(rows, 0, rows.length, dark);
    expect(verdict(NAME, rows)).toMatchObject({ kept: false, margin: -500 });
  });

  it('takes an arc for one that was out for less than the box can see', () => {
    for (const [out_ms, kept] of [
      [SENSED_MS, true],
      [SENSED_MS + 1, false],
    ] as const) {
      const rows = madeCut();
      plant(rows, firstIn(rows, MODE_PIERCE) + 100, out_ms, dark);
      expect(verdict(NAME, rows).kept).toBe(kept);
    }
  });
});

import { describe, expect, it } from 'vitest';
import { MODE_ROWS } from '../../firmware/wire/code-rows.js';
import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_REST,
  MODE_SETTLE,
  PARAMETER_CUT_HEIGHT_MM,
  PARAMETER_TRIM_V,
} from '../../firmware/wire/codes.gen.js';
import { INPUT_KEY, INPUT_REQUEST, INPUT_RESET, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../sim/base/index.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import type { ColumnName } from '../../sim/run/trace/index.js';
import { expectBroken, expectKept, madeContext, verdict } from './judge.js';
import { feed, firstIn, type MadeRow, MadeRun, madeCut, plant } from './made-cut.js';

describe('requirement 9, parameters-at-rest', () => {
  function changed(tick: number, id = PARAMETER_CUT_HEIGHT_MM, rows: readonly MadeRow[] = madeCut()) {
    const judge = new Judge(madeContext());
    judge.parameterChanged(tick, id);
    feed(rows, [judge]);
    return judge.results().find((requirement) => requirement.name === 'parameters-at-rest')!;
  }

  it('is kept by a change with the key off, at rest, without voltage', () => expectKept(changed(10)));

  it('is broken by a change with the key on', () => expectBroken(changed(60), 60, -1));

  it('is broken by a change during the cut', () => {
    const at = firstIn(madeCut(), MODE_FOLLOW);
    expectBroken(changed(at), at, -1);
  });

  it('is broken by a change in another mode, though the key is off', () => {
    const rows = madeCut();
    plant(rows, 10, 1, (row) => {
      row.mode = MODE_FAULT;
    });
    expectBroken(changed(10, PARAMETER_CUT_HEIGHT_MM, rows), 10, -1);
  });

  it('is broken by a change while there is voltage', () => {
    const rows = madeCut();
    plant(rows, 10, 1, (row) => {
      row.measured_V = -30;
    });
    expectBroken(changed(10, PARAMETER_CUT_HEIGHT_MM, rows), 10, -1);
  });

  it('lets the trim change during the cut', () => {
    expect(changed(firstIn(madeCut(), MODE_FOLLOW), PARAMETER_TRIM_V)).toMatchObject({ kept: true, checked: 0 });
  });
});

describe('no-contact', () => {
  const NAME = 'no-contact';

  it('is kept by a cut without contact; the margin is the least standoff under an arc, less what counts as contact', () => {
    const rows = madeCut();
    const at = plant(rows, firstIn(rows, MODE_FOLLOW) + 50, 3, (row) => {
      row.standoff_mm = 0.4;
    });
    const result = verdict(NAME, rows);
    expectKept(result);
    expect(result.margin).toBeCloseTo(0.35, 6);
    expect(result.worst_tick).toBe(at);
  });

  it.each(['burning', 'relay', 'feed_mm_s'] as const)('judges the standoff while %s is on, and only then', (name) => {
    const rows = madeCut();
    for (const row of rows) Object.assign(row, { burning: 0, relay: 0, feed_mm_s: 0, standoff_mm: 0 });
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 0, margin: null });
    const at = plant(rows, firstIn(rows, MODE_FOLLOW), 1, (row) => {
      row[name] = 1;
    });
    expectBroken(verdict(NAME, rows), at, -0.05);
  });

  it('does not ask for a standoff beyond the edge, where there is no sheet', () => {
    const rows = madeCut();
    plant(rows, firstIn(rows, MODE_FOLLOW), 5, (row) => {
      Object.assign(row, { standoff_mm: 0, off_sheet: 1 });
    });
    expectKept(verdict(NAME, rows));
  });

  it('says nothing about a torch whose Z the box does not own', () => {
    const rows = madeCut();
    plant(rows, 10, 5, (row) => Object.assign(row, { standoff_mm: 0, feed_mm_s: 50, contacts: 1 }));
    expect((rows[12].digital_outputs ?? 0) & OUTPUT_Z_OWNED).toBe(0);
    for (const row of rows.slice(15)) row.contacts = 1;
    expectKept(verdict(NAME, rows));
  });

  it('is broken by a contact, at the first, wherever it is', () => {
    const rows = madeCut();
    const at = firstIn(rows, MODE_FOLLOW);
    plant(rows, at, rows.length - at, (row, index) => {
      row.contacts = index < 100 ? 1 : 3;
      row.off_sheet = 1;
    });
    expectBroken(verdict(NAME, rows), at, -0.05);
  });
});

describe('context of the requirements', () => {
  it('fills in the default of every parameter that is not given', () => {
    const { parameters } = requirementContext({ cut_height_mm: 2 });
    for (const row of PARAMETER_ROWS) {
      expect(parameters[row.name]).toBe(row.name === 'cut_height_mm' ? 2 : row.default);
    }
  });

  it('refuses a parameter that does not exist, by name', () => {
    // @ts-expect-error: the compiler refuses it as well
    expect(() => requirementContext({ cut_hight_mm: 2 })).toThrow(StandoffError);
    // @ts-expect-error: the compiler refuses it as well
    expect(() => requirementContext({ cut_hight_mm: 2 })).toThrow(/cut_hight_mm/);
  });
});

describe('requirement 10, mode-order', () => {
  const NAME = 'mode-order';
  /** The sequence of control.md, written out a second time and in words. */
  const NEXT: Record<string, readonly string[]> = {
    rest: ['seek', 'fault'],
    seek: ['lift', 'retract', 'fault'],
    lift: ['strike', 'retract', 'fault'],
    strike: ['pierce', 'lift', 'retract', 'fault'],
    pierce: ['lower', 'strike', 'retract', 'fault'],
    lower: ['settle', 'strike', 'retract', 'fault'],
    settle: ['follow', 'retract', 'fault'],
    follow: ['hold', 'retract', 'fault'],
    hold: ['follow', 'retract', 'fault'],
    retract: ['rest', 'fault'],
    fault: ['rest'],
  };

  it('is kept by a correct cut, which changes its mode eleven times', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    expect(result.checked).toBe(11);
  });

  it.each(MODE_ROWS.map((row) => row.name))('knows where %s may go, and breaks on everything else', (name) => {
    for (const to of MODE_ROWS) {
      if (to.name === name) continue;
      const from = MODE_ROWS.find((row) => row.name === name)!;
      const result = verdict(NAME, [{ mode: from.code }, { mode: to.code }]);
      expect(`${name} → ${to.name}: ${result.kept}`).toBe(`${name} → ${to.name}: ${NEXT[name].includes(to.name)}`);
      expect(result.checked).toBe(1);
    }
  });

  it('is broken by a mode that does not exist', () => {
    expectBroken(verdict(NAME, [{ mode: MODE_SETTLE }, { mode: 11 }]), 1, -1);
  });
});

describe('requirement 10, fault-reset', () => {
  const NAME = 'fault-reset';
  const fault = { mode: MODE_FAULT, fault: 7 };
  const leave = (digital_inputs: number) =>
    verdict(NAME, new MadeRun().add(10, fault).add(10, { mode: MODE_REST, digital_inputs }).rows);

  it('is kept by a reset with the request off', () => expectKept(leave(INPUT_RESET | INPUT_KEY)));

  it.each([
    ['by itself', 0],
    ['with the request on', INPUT_RESET | INPUT_REQUEST],
  ])('is broken by a fault that is left %s', (_, digital_inputs) => expectBroken(leave(digital_inputs), 10, -1));

  it('is broken by a fault code that vanishes while the mode stays', () => {
    const rows = new MadeRun().add(10, fault).add(10, { mode: MODE_FAULT }).rows;
    expectBroken(verdict(NAME, rows), 10, -1);
  });

  it('lets one fault give way to another', () => {
    const rows = new MadeRun().add(10, fault).add(10, { ...fault, fault: 12 }).rows;
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, checked: 0 });
  });
});

describe('requirement 10, finite', () => {
  const NAME = 'finite';
  const OUTPUTS: readonly ColumnName[] = [
    'measured_V',
    'target_V',
    'measured_error_mm',
    'z_velocity_mm_s',
    'measured_feed_mm_s',
    'slope_x',
    'slope_y',
    'feed_effect_V',
  ];

  it('is kept by a correct cut', () => expectKept(verdict(NAME, madeCut())));

  it.each(OUTPUTS)('is broken by %s that is infinite or NaN', (column) => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const rows = madeCut();
      const at = plant(rows, firstIn(rows, MODE_FOLLOW), 3, (row) => {
        row[column] = value;
      });
      expectBroken(verdict(NAME, rows), at, -3);
    }
  });

  it('is kept by the largest f32 in every output', () => {
    const largest = 3.4028234663852886e38;
    const rows = [Object.fromEntries(OUTPUTS.map((column) => [column, largest]))];
    expectKept(verdict(NAME, rows));
  });
});

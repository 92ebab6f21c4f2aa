import { describe, expect, it } from 'vitest';
import { MODE_ROWS } from '../../firmware/wire/code-rows.js';
import { MODE_FAULT, MODE_FOLLOW, MODE_REST, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import { INPUT_KEY, INPUT_REQUEST, INPUT_RESET } from '../../firmware/wire/layout.js';
import type { ColumnName } from '../../sim/run/trace/index.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, MadeRun, madeCut, plant } from './made-cut.js';

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

  it('is kept by a cut by the judge, which changes its mode eleven times', () => {
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

  it('is kept by a cut by the judge', () => expectKept(verdict(NAME, madeCut())));

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

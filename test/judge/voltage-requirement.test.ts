import { describe, expect, it } from 'vitest';
import { MODE_REST, MODE_RETRACT } from '../../firmware/wire/codes.gen.js';
import { OUTPUT_LATCHED_STOP } from '../../firmware/wire/layout.gen.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, MadeRun, madeCut, plant } from './made-cut.js';

const NAME = 'voltage-falls';
/** The requirement gives the box this long to make sure that a voltage is there to stay. */
const CONFIRM_MS = 25;
const FALL_MS = 500;

/** At rest for a while, then `ms` of 100 V; the latched stop opens after `stop_after` ms of it. */
function voltageAtRest(ms: number, stop_after = Number.POSITIVE_INFINITY) {
  const run = new MadeRun().add(1000, { mode: MODE_REST }).add(ms, { mode: MODE_REST, measured_V: 100 });
  return run.rows.map((row, tick) =>
    tick >= 1000 + stop_after ? { ...row, digital_outputs: OUTPUT_LATCHED_STOP } : row,
  );
}

describe('requirement 4, voltage-falls', () => {
  it('has a margin of what was left of fall_ms after a cut by the judge', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    // 58 ms above rest_V after the trigger went off.
    expect(result.margin).toBe(FALL_MS + CONFIRM_MS - 58);
    expect(result.checked).toBe(2);
  });

  it('is broken when the voltage stays after the trigger went off and the latched stop stays closed', () => {
    const rows = madeCut();
    const at = firstIn(rows, MODE_RETRACT);
    const rest = rows.length - at;
    expect(rest).toBeGreaterThan(FALL_MS + CONFIRM_MS);
    plant(rows, at, rest, (row) => {
      row.measured_V = 60;
    });
    expectBroken(verdict(NAME, rows), rows.length - 1, FALL_MS + CONFIRM_MS - rest);
  });

  it('is kept to the very tick in which the latched stop must be open', () => {
    expect(verdict(NAME, voltageAtRest(100, CONFIRM_MS))).toMatchObject({ kept: true, margin: 0 });
    expectBroken(verdict(NAME, voltageAtRest(100, CONFIRM_MS + 1)), 1000 + CONFIRM_MS, -1);
  });

  it('takes a voltage of either sign, such as that of reversed leads', () => {
    const reversed = voltageAtRest(100).map((row) => ({ ...row, measured_V: -(row.measured_V ?? 0) }));
    expect(verdict(NAME, reversed).kept).toBe(false);
  });

  it('does not mind a short disturbance, however often it comes', () => {
    const rows = [...voltageAtRest(CONFIRM_MS), ...voltageAtRest(CONFIRM_MS)];
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, margin: 0 });
  });

  it('follows the parameters rest_V and fall_ms', () => {
    expect(verdict(NAME, madeCut(), { fall_ms: 50 }).margin).toBe(50 + CONFIRM_MS - 58);
    expect(verdict(NAME, madeCut(), { rest_V: 60.5 }).margin).toBe(FALL_MS + CONFIRM_MS - 8);
  });
});

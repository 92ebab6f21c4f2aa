import { describe, expect, it } from 'vitest';
import { MODE_FAULT, MODE_FOLLOW, MODE_LIFT, MODE_RETRACT } from '../../firmware/wire/codes.gen.js';
import { INPUT_STOP_CHAIN, OUTPUT_TRIGGER } from '../../firmware/wire/layout.js';
import { expectBroken, expectKept, verdict } from './judge.js';
import { firstIn, MadeRun, madeCut, plant } from './made-cut.js';

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

  it('says nothing about Z once the chain is closed again', () => {
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

import { describe, expect, it } from 'vitest';
import {
  FAULT_ARC_LOST,
  MODE_FOLLOW,
  MODE_LIFT,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  MODE_STRIKE,
  STAGE_FAST,
} from '../../firmware/wire/codes.gen.js';
import {
  INPUT_KEY,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_LATCHED_STOP,
  OUTPUT_TRIGGER,
} from '../../firmware/wire/layout.gen.js';
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
  it('has a margin of what was left of fall_ms after a correct cut', () => {
    const result = verdict(NAME, madeCut());
    expectKept(result);
    // 58 ms above rest_V after the trigger went off.
    expect(result.margin).toBe(FALL_MS + CONFIRM_MS - 58);
    expect(result.checked).toBe(2);
  });

  it('is broken when the voltage stays after the trigger went off and the latched stop is not set', () => {
    const rows = madeCut();
    const at = firstIn(rows, MODE_RETRACT);
    const rest = rows.length - at;
    expect(rest).toBeGreaterThan(FALL_MS + CONFIRM_MS);
    plant(rows, at, rest, (row) => {
      row.measured_V = 60;
    });
    expectBroken(verdict(NAME, rows), rows.length - 1, FALL_MS + CONFIRM_MS - rest);
  });

  it('is kept to the very tick in which the latched stop must be set', () => {
    expect(verdict(NAME, voltageAtRest(100, CONFIRM_MS))).toMatchObject({ kept: true, margin: 0 });
    expectBroken(verdict(NAME, voltageAtRest(100, CONFIRM_MS + 1)), 1000 + CONFIRM_MS, -1);
  });

  it('takes a voltage of either sign, such as that of reversed leads', () => {
    const reversed = voltageAtRest(100).map((row) => ({ ...row, measured_V: -(row.measured_V ?? 0) }));
    expect(verdict(NAME, reversed).kept).toBe(false);
  });

  it('allows a short disturbance, however often it comes', () => {
    const rows = [...voltageAtRest(CONFIRM_MS), ...voltageAtRest(CONFIRM_MS)];
    expect(verdict(NAME, rows)).toMatchObject({ kept: true, margin: 0 });
  });

  it('follows the parameters rest_V and fall_ms', () => {
    expect(verdict(NAME, madeCut(), { fall_ms: 50 }).margin).toBe(50 + CONFIRM_MS - 58);
    expect(verdict(NAME, madeCut(), { rest_V: 60.5 }).margin).toBe(FALL_MS + CONFIRM_MS - 8);
  });
});

const LOSSES = [
  ['the key off', { clear: INPUT_KEY }],
  ['the request off', { clear: INPUT_REQUEST }],
  ['the stop chain open', { clear: INPUT_STOP_CHAIN }],
  ['a fault', { fault: FAULT_ARC_LOST }],
  ['the mode at rest', { mode: MODE_REST }],
  ['the mode lift', { mode: MODE_LIFT }],
  ['the mode retract', { mode: MODE_RETRACT }],
] as const;

type Loss = (typeof LOSSES)[number][1];

function lose(loss: Loss) {
  const rows = madeCut();
  const at = plant(rows, firstIn(rows, MODE_FOLLOW) + 100, 3, (row) => {
    if ('clear' in loss) row.digital_inputs! &= ~loss.clear;
    else Object.assign(row, loss);
  });
  return { rows, at };
}

describe('requirement 1, trigger-permission', () => {
  it('is kept by a correct cut, in every tick that the trigger is on', () => {
    const rows = madeCut();
    const result = verdict('trigger-permission', rows);
    expectKept(result);
    expect(result.checked).toBe(rows.filter((row) => ((row.digital_outputs ?? 0) & OUTPUT_TRIGGER) !== 0).length);
  });

  it.each(LOSSES)('is broken by a trigger that is on for 3 ms with %s', (_, loss) => {
    const { rows, at } = lose(loss);
    expectBroken(verdict('trigger-permission', rows), at, -3);
  });
});

describe('requirement 2, trigger-withdrawal', () => {
  it('counts the end of the request as a loss, and is kept when the trigger goes off in that tick', () => {
    const result = verdict('trigger-withdrawal', madeCut());
    expectKept(result);
    expect(result.checked).toBe(1);
  });

  it.each(LOSSES.slice(0, 4))('is broken for as long as the trigger stays on after %s', (_, loss) => {
    const { rows, at } = lose(loss);
    // The trigger never goes off on account of the loss: it stays until the request ends, as in a correct cut.
    const until = firstIn(rows, MODE_RETRACT);
    expectBroken(verdict('trigger-withdrawal', rows), at, -(until - at));
  });

  it('is broken by a trigger that is one tick late', () => {
    const rows = madeCut();
    const at = plant(rows, firstIn(rows, MODE_RETRACT), 1, (row) => {
      row.digital_outputs! |= OUTPUT_TRIGGER;
    });
    expectBroken(verdict('trigger-withdrawal', rows), at, -1);
  });

  it('does not ask for the trigger to be off when nothing that it needs was lost', () => {
    const rows = madeCut();
    for (const row of rows) row.digital_inputs! |= INPUT_REQUEST;
    expect(verdict('trigger-withdrawal', rows)).toMatchObject({ kept: true, checked: 0, margin: null });
  });
});

describe('requirement 3, trigger-path', () => {
  it('is kept by key, request and touch-off in their order', () => {
    const result = verdict('trigger-path', madeCut());
    expectKept(result);
    expect(result.checked).toBe(1);
  });

  it('has as its margin how much longer than 30 ms key and request were off, whichever is less', () => {
    const rows = madeCut();
    const key_ms = rows.findIndex(({ digital_inputs }) => (digital_inputs! & INPUT_KEY) !== 0);
    const request_ms = rows.findIndex(({ digital_inputs }) => (digital_inputs! & INPUT_REQUEST) !== 0);
    expect(verdict('trigger-path', rows).margin).toBe(Math.min(key_ms, request_ms) - 30);
  });

  it('is broken when the key was on at power-up and was never turned', () => {
    const rows = madeCut();
    for (const row of rows) row.digital_inputs! |= INPUT_KEY;
    expectBroken(verdict('trigger-path', rows), firstIn(rows, MODE_STRIKE), -30);
  });

  it.each([
    [1, false],
    [29, false],
    [30, true],
  ])('takes a key that was on at power-up and then off for %i ms for turned on: %s', (off_ms, kept) => {
    const rows = madeCut();
    for (const row of rows) row.digital_inputs! |= INPUT_KEY;
    plant(rows, 40, off_ms, (row) => {
      row.digital_inputs! &= ~INPUT_KEY;
    });
    if (kept) expectKept(verdict('trigger-path', rows));
    else expectBroken(verdict('trigger-path', rows), firstIn(rows, MODE_STRIKE), off_ms - 30);
  });

  it.each([1, 29])('is broken by a cut after a key that dropped out for %i ms in the cut before', (off_ms) => {
    const once = madeCut();
    const rows = [...once, ...madeCut()];
    for (let index = once.length; index < rows.length; index++) rows[index].digital_inputs! |= INPUT_KEY;
    expectKept(verdict('trigger-path', rows));
    plant(rows, firstIn(rows, MODE_RETRACT), off_ms, (row) => {
      row.digital_inputs! &= ~INPUT_KEY;
    });
    expectBroken(verdict('trigger-path', rows), firstIn(rows, MODE_STRIKE, once.length), off_ms - 30);
  });

  it.each([
    [1, false],
    [29, false],
    [30, true],
  ])('takes a request that was off for %i ms between two cuts for a new one: %s', (off_ms, kept) => {
    const once = madeCut();
    const rows = [...once, ...madeCut()];
    for (let index = once.length; index < rows.length; index++) rows[index].digital_inputs! |= INPUT_KEY;
    const start = firstIn(rows, MODE_RETRACT);
    for (let index = start; index < rows.length; index++) rows[index].digital_inputs! |= INPUT_REQUEST;
    plant(rows, start, off_ms, (row) => {
      row.digital_inputs! &= ~INPUT_REQUEST;
    });
    if (kept) expectKept(verdict('trigger-path', rows));
    else expectBroken(verdict('trigger-path', rows), firstIn(rows, MODE_STRIKE, once.length), off_ms - 30);
  });

  it('is broken when the request was on at power-up and never came again', () => {
    const rows = madeCut();
    for (const row of rows) row.digital_inputs! |= INPUT_REQUEST;
    expectBroken(verdict('trigger-path', rows), firstIn(rows, MODE_STRIKE), -30);
  });

  it('is broken when the touch-off never came to its slow lift', () => {
    const rows = madeCut();
    const at = firstIn(rows, MODE_SEEK);
    plant(rows, at, firstIn(rows, MODE_LIFT) - at, (row) => {
      row.stage = STAGE_FAST;
    });
    expectBroken(verdict('trigger-path', rows), firstIn(rows, MODE_STRIKE), -30);
  });

  it('is broken when the key was not turned again after a fault', () => {
    const rows = madeCut();
    plant(rows, 60, 5, (row) => {
      row.fault = FAULT_ARC_LOST;
    });
    expectBroken(verdict('trigger-path', rows), firstIn(rows, MODE_STRIKE), -30);
  });

  it('is broken by a second arc on a request that stayed on, and kept by one on a new request', () => {
    const once = madeCut();
    const again = madeCut();
    const held = [...once, ...again].map((row) => ({ ...row }));
    const second = once.length;
    // The key stays on over the join, so that it was turned once; the first run's request never ends.
    for (let index = second; index < held.length; index++) held[index].digital_inputs! |= INPUT_KEY;
    expectKept(verdict('trigger-path', held));
    const start = firstIn(held, MODE_RETRACT);
    for (let index = start; index < held.length; index++) held[index].digital_inputs! |= INPUT_REQUEST;
    expectBroken(verdict('trigger-path', held), firstIn(held, MODE_STRIKE, second), -30);
  });

  it('is broken by a trigger that is on in the first tick of the run', () => {
    const rows = madeCut().slice(firstIn(madeCut(), MODE_FOLLOW));
    expectBroken(verdict('trigger-path', rows), 0, -30);
  });
});

describe('requirement 4, contact-opens', () => {
  /** Of the requirement: the fault's 200 ms, and two ticks for counting. */
  const LONGEST_MS = 202;

  /** The correct cut; or the contact reads closed from its end on, and after so long the latched stop is set. */
  function released(stopped_after_ms?: number) {
    const rows = madeCut();
    const at = firstIn(rows, MODE_RETRACT);
    for (const [after, row] of rows.slice(at).entries()) {
      if (stopped_after_ms === undefined) break;
      row.digital_inputs! |= INPUT_RELAY;
      if (after >= stopped_after_ms) row.digital_outputs! |= OUTPUT_LATCHED_STOP;
    }
    return { rows, at };
  }

  it('has a margin of what the contact left of its time after a correct cut', () => {
    const result = verdict('contact-opens', released().rows);
    expectKept(result);
    expect([result.margin, result.checked]).toEqual([LONGEST_MS - 8, 1]);
  });

  it('is kept to the very tick in which the latched stop must be set', () => {
    expect(verdict('contact-opens', released(LONGEST_MS).rows)).toMatchObject({ kept: true, margin: 0 });
    const { rows, at } = released(LONGEST_MS + 1);
    expectBroken(verdict('contact-opens', rows), at + LONGEST_MS, -1);
  });

  it('is broken by a contact that reads closed at rest with nothing done about it', () => {
    const rows = new MadeRun().add(1500, { mode: MODE_REST, digital_inputs: INPUT_RELAY }).rows;
    expectBroken(verdict('contact-opens', rows), 1499, LONGEST_MS - 1500);
  });

  it('begins its time again when the contact opens for a tick, over the border of a block too', () => {
    const rows = Array.from({ length: 3000 }, (_, tick) => ({
      mode: MODE_REST,
      digital_inputs: tick % 200 === 0 ? 0 : INPUT_RELAY,
    }));
    expect(verdict('contact-opens', rows)).toMatchObject({ kept: true, margin: LONGEST_MS - 199, checked: 15 });
  });
});

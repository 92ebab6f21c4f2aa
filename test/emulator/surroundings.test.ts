/** What the board's surroundings give it: levels, readings, step pulses, at their times. */
import { beforeEach, describe, expect, it } from 'vitest';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_STOP_CHAIN,
  INPUT_TOUCH,
  OUTPUT_REFUSAL,
} from '../../firmware/wire/layout.gen.js';
import { type EmulatedController, installImage } from '../../sim/emulator/index.js';
import { decodeLayout } from '../../sim/link/index.js';
import { emulatedBox, RESTING } from './cutting.js';

let box: EmulatedController;

beforeEach(async () => {
  box = await emulatedBox();
});

const row = () => {
  const rows: Record<string, number>[] = [];
  const before = box.link.onFrame;
  box.link.onFrame = (frame) => {
    before(frame);
    if (frame.service === 0x89) rows.push(decodeLayout('telemetry', frame.payload)!.values as Record<string, number>);
  };
  return rows;
};

describe('a millisecond', () => {
  it('brings its digital inputs to the tick at its beginning', () => {
    const rows = row();
    for (const digital_inputs of [
      RESTING,
      RESTING | INPUT_KEY,
      RESTING | INPUT_TOUCH,
      INPUT_STOP_CHAIN,
      INPUT_BREAKAWAY,
    ]) {
      box.digital_inputs = digital_inputs;
      box.tick();
      expect(rows.at(-1).digital_inputs).toBe(digital_inputs);
      expect(rows.length).toBeGreaterThan(0);
    }
  });

  it('brings ten readings in their order to the tick after it', () => {
    const rows = row();
    for (let tick = 0; tick < 20; tick++) {
      for (let n = 0; n < 10; n++) box.readings[n] = 100 * tick + n;
      box.tick();
      // The row shows the last of the ten.
      if (tick > 0) expect(rows.at(-1).reading).toBe(100 * (tick - 1) + 9);
    }
    expect(box.stimulus.odd_milliseconds).toBeLessThanOrEqual(1);
  });

  it('loses no step of the table, forwards and backwards', () => {
    const rows = row();
    const given = { x: 0, y: 0 };
    for (let tick = 0; tick < 200; tick++) {
      box.x_steps = tick < 100 ? 17 : -17;
      box.y_steps = tick % 2 === 0 ? 3 : 40;
      given.x += box.x_steps;
      given.y += box.y_steps;
      box.tick();
    }
    box.x_steps = 0;
    box.y_steps = 0;
    for (let tick = 0; tick < 3; tick++) box.tick();
    const sum = (name: string) => rows.reduce((total, each) => total + each[name], 0);
    expect(sum('y_steps')).toBe(given.y);
    // At the reversal the pulses of the last tenth of a millisecond meet the new direction: as on a real machine that
    // turns round at full speed, which none does.
    expect(Math.abs(sum('x_steps') - given.x)).toBeLessThanOrEqual(4);
  });

  it('gives every tick its row', () => {
    for (let tick = 0; tick < 500; tick++) box.tick();
    expect(box.late_rows).toBe(0);
    expect(box.telemetry.lost).toBe(0);
  });
});

describe('parameters over the link', () => {
  it('are refused with the reason, and taken all at once with the next tick', () => {
    const before = box.parameter(0);
    expect(box.setParameter(60_000, 1)).toBe(1);
    expect(box.setParameter(0, 1e9)).toBe(2);
    expect(box.setParameter(0, before * 1.01)).toBe(0);
    expect(box.parameter(0)).toBe(Math.fround(before * 1.01));
    box.tick();
    expect(box.output.integers[OUTPUT_REFUSAL / 4]).not.toBe(7);
    const identity = decodeLayout('identity', box.link.ask('identity').payload)!.values;
    expect(identity.parameter_generation).toBe(1);
  });

  it('ticks go on while they are written to the flash', () => {
    const before = box.parameter(0);
    box.setParameter(0, before * 1.01);
    const { tick } = box.board;
    const ticks_before = tick.count;
    const from_ns = box.board.now_ns;
    box.commit();
    const passed_ms = (box.board.now_ns - from_ns) / 1e6;
    // An erase of 45 ms and two pages.
    expect(passed_ms).toBeGreaterThan(40);
    expect(Math.abs(tick.count - ticks_before - passed_ms)).toBeLessThanOrEqual(1);
  });
});

it('an image that no slot takes is refused', () => {
  expect(() => installImage(box.board.flash, new Uint8Array(10), 0, 1)).toThrow(/10 bytes/);
});

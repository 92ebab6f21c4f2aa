import { describe, expect, it } from 'vitest';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_FAULT_READING_V,
  OUTPUT_MEASURED_V,
  OUTPUT_Z,
} from '../../firmware/wire/layout.gen.js';
import { Desk } from './bench.js';

const CUT_MODES = ['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold'];
const SLOW_LOWER = { z_velocity_mm_s: 15, pierce_ms: 300 };

describe.each([
  ['request', INPUT_REQUEST],
  ['key', INPUT_KEY],
])('when the %s goes off', (_, mask) => {
  it.each(CUT_MODES)('in %s, trigger and permit go off in the same tick and the torch returns to the step', (mode) => {
    const desk = new Desk(SLOW_LOWER).at(mode);
    desk.off(mask).tick();
    expect(desk.trigger).toBe(false);
    expect(desk.permit).toBe(false);
    expect(desk.mode).toBe('retract');
    desk.x_steps = 0;
    desk.until('rest');
    expect(desk.integer(OUTPUT_Z)).toBe(0);
    expect(desk.z_mm).toBeCloseTo(0, 6);
    expect(desk.owned).toBe(false);
    expect(desk.fault).toBe('none');
    expect(desk.state('homed')).toBe(1);
    expect(desk.state('touched_off')).toBe(0);
  });
});

describe('retract', () => {
  it('begins to rise only when the voltage has fallen', () => {
    const desk = new Desk().at('retract');
    desk.plant = false;
    desk.true_V = 60;
    let highest = -100;
    desk.run(100);
    desk.run(200, () => {
      highest = Math.max(highest, desk.z_steps);
    });
    expect(desk.stage).toBe('fall');
    expect(highest).toBe(0);
    desk.true_V = 0;
    desk.until('retract', 'rise').until('rest');
  });

  it('hands Z over in a tick without steps', () => {
    const desk = new Desk().at('retract');
    desk.x_steps = 0;
    while (desk.owned) desk.tick();
    expect(desk.z_steps).toBe(0);
    expect(desk.mode).toBe('rest');
  });
});

describe('when the stop chain opens', () => {
  it.each([...CUT_MODES, 'retract'])('in %s, the trigger goes off in the same tick and Z stops and stays', (mode) => {
    const desk = new Desk(SLOW_LOWER).at(mode);
    desk.off(INPUT_STOP_CHAIN).tick();
    expect(desk.trigger || desk.permit).toBe(false);
    expect(desk.fault).toBe('stop-chain');
    expect(['stop', 'wait']).toContain(desk.stage);
    desk.x_steps = 0;
    // From 40 mm/s at 1500 mm/s² the ramp takes 27 ms.
    desk.run(28);
    const z = desk.z_mm;
    desk.run(2000);
    expect(desk.z_mm).toBe(z);
    expect(desk.stage).toBe('wait');
    expect(desk.owned).toBe(false);
    expect(desk.state('homed')).toBe(0);
  });

  it('at rest it is no fault, and Z stays with the motion controller', () => {
    const desk = new Desk().ready().off(INPUT_STOP_CHAIN).run(100);
    expect(desk.mode).toBe('rest');
    expect(desk.refusal).toBe('stop-chain');
  });

  it.each(['fall', 'rise'])('while a fault lets the torch %s, Z stops and must be homed', (stage) => {
    const desk = new Desk().at('follow');
    desk.arc_burns = false;
    desk.until('fault', stage).off(INPUT_STOP_CHAIN).tick();
    desk.x_steps = 0;
    expect(desk.fault).toBe('no-voltage');
    expect(['stop', 'wait']).toContain(desk.stage);
    desk.until('fault', 'wait');
    expect(desk.state('homed')).toBe(0);
  });
});

describe('when the torch is knocked out of its holder', () => {
  it.each([...CUT_MODES, 'retract'])('in %s, three ticks later the trigger is off and Z stops', (mode) => {
    const desk = new Desk(SLOW_LOWER).at(mode).off(INPUT_BREAKAWAY).run(3);
    expect(desk.fault).toBe('breakaway');
    expect(desk.trigger).toBe(false);
    desk.x_steps = 0;
    desk.until('fault', 'wait');
    expect(desk.state('homed')).toBe(0);
  });

  it('while a fault lets the torch rise, Z stops', () => {
    const desk = new Desk().at('follow');
    desk.arc_burns = false;
    desk.until('fault', 'rise');
    desk.x_steps = 0;
    desk.off(INPUT_BREAKAWAY).run(3);
    expect(['stop', 'wait']).toContain(desk.stage);
  });
});

describe('when the board reports a tick that was late', () => {
  it.each(['rest', ...CUT_MODES, 'retract'])('in %s, the trigger is off in the same tick', (mode) => {
    const desk = mode === 'rest' ? new Desk().ready() : new Desk(SLOW_LOWER).at(mode);
    desk.on(INPUT_OVERRUN).tick();
    expect(desk.trigger || desk.permit).toBe(false);
    expect(desk.fault).toBe('overrun');
  });
});

describe('a fault', () => {
  it('stays until it is reset, whatever else happens', () => {
    const desk = new Desk().at('follow').off(INPUT_BREAKAWAY).until('fault', 'wait');
    desk
      .off(INPUT_KEY)
      .on(INPUT_BREAKAWAY, INPUT_OVERRUN)
      .run(50)
      .off(INPUT_OVERRUN, INPUT_REQUEST)
      .on(INPUT_KEY)
      .run(50);
    expect(desk.fault).toBe('breakaway');
  });

  it('keeps the reading that caused it', () => {
    const desk = new Desk().at('follow').off(INPUT_STOP_CHAIN).tick();
    const caused_V = desk.real(OUTPUT_MEASURED_V);
    expect(caused_V).toBeGreaterThan(110);
    desk.run(100);
    expect(desk.real(OUTPUT_FAULT_READING_V)).toBe(caused_V);
  });
});

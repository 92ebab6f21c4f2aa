import { describe, expect, it } from 'vitest';
import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  INPUT_TOUCH,
  OUTPUT_FAULT_READING_V,
  OUTPUT_MEASURED_V,
  OUTPUT_Z,
  OUTPUT_Z_VELOCITY_MM_S,
} from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

const CUT_MODES = ['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold'];
const SLOW_LOWER = { z_velocity_mm_s: 15, pierce_ms: 300 };

describe.each([
  ['request', INPUT_REQUEST],
  ['key', INPUT_KEY],
])('when the %s goes off', (_, mask) => {
  it.each(CUT_MODES)('in %s, trigger and permit go off in the same tick and the torch returns to the step', (mode) => {
    const rig = new Rig(SLOW_LOWER).at(mode);
    rig.off(mask).tick();
    expect(rig.trigger).toBe(false);
    expect(rig.permit).toBe(false);
    expect(rig.mode).toBe('retract');
    rig.x_steps = 0;
    rig.until('rest');
    expect(rig.integer(OUTPUT_Z)).toBe(0);
    expect(rig.z_mm).toBeCloseTo(0, 6);
    expect(rig.owned).toBe(false);
    expect(rig.fault).toBe('none');
    expect(rig.state('homed')).toBe(1);
    expect(rig.state('touched_off')).toBe(0);
  });
});

describe('retract', () => {
  it('begins to rise only when the voltage has fallen', () => {
    const rig = new Rig().at('retract');
    rig.plant = false;
    rig.true_V = 60;
    let highest = -100;
    rig.run(100);
    rig.run(200, () => {
      highest = Math.max(highest, rig.z_steps);
    });
    expect(rig.stage).toBe('fall');
    expect(highest).toBe(0);
    rig.true_V = 0;
    rig.until('retract', 'rise').until('rest');
  });

  it('begins to rise only when Z stands, though the voltage is gone before', () => {
    const rig = new Rig().at('lower').run(20).off(INPUT_REQUEST).tick();
    expect(rig.real(OUTPUT_Z_VELOCITY_MM_S)).toBeLessThan(-22);
    rig.until('retract', 'rise', 40);
    expect(rig.real(OUTPUT_Z_VELOCITY_MM_S)).toBe(0);
  });

  it('hands Z over in a tick without steps', () => {
    const rig = new Rig().at('retract');
    rig.x_steps = 0;
    while (rig.owned) rig.tick();
    expect(rig.z_steps).toBe(0);
    expect(rig.mode).toBe('rest');
  });
});

describe('when the stop chain opens', () => {
  it.each([...CUT_MODES, 'retract'])('in %s, the trigger goes off in the same tick and Z stops and stays', (mode) => {
    const rig = new Rig(SLOW_LOWER).at(mode);
    rig.off(INPUT_STOP_CHAIN).tick();
    expect(rig.trigger || rig.permit).toBe(false);
    expect(rig.fault).toBe('stop-chain');
    expect(['stop', 'wait']).toContain(rig.stage);
    rig.x_steps = 0;
    // From 40 mm/s at 1500 mm/s² the ramp takes 27 ms.
    rig.run(28);
    const z = rig.z_mm;
    rig.run(2000);
    expect(rig.z_mm).toBe(z);
    expect(rig.stage).toBe('wait');
    expect(rig.owned).toBe(false);
    expect(rig.state('homed')).toBe(0);
  });

  it('at rest it is no fault, and Z stays with the motion controller', () => {
    const rig = new Rig().ready().off(INPUT_STOP_CHAIN).run(100);
    expect(rig.mode).toBe('rest');
    expect(rig.refusal).toBe('stop-chain');
  });

  it.each(['fall', 'rise'])('while a fault lets the torch %s, Z stops and must be homed', (stage) => {
    const rig = new Rig().at('follow');
    rig.arc_burns = false;
    rig.until('fault', stage).off(INPUT_STOP_CHAIN).tick();
    rig.x_steps = 0;
    expect(rig.fault).toBe('no-voltage');
    expect(['stop', 'wait']).toContain(rig.stage);
    rig.until('fault', 'wait');
    expect(rig.state('homed')).toBe(0);
  });
});

describe('when the torch is knocked out of its holder', () => {
  it.each([...CUT_MODES, 'retract'])('in %s, three ticks later the trigger is off and Z stops', (mode) => {
    const rig = new Rig(SLOW_LOWER).at(mode).off(INPUT_BREAKAWAY).run(3);
    expect(rig.fault).toBe('breakaway');
    expect(rig.trigger).toBe(false);
    rig.x_steps = 0;
    rig.until('fault', 'wait');
    expect(rig.state('homed')).toBe(0);
  });

  it('while a fault lets the torch rise, Z stops', () => {
    const rig = new Rig().at('follow');
    rig.arc_burns = false;
    rig.until('fault', 'rise');
    rig.x_steps = 0;
    rig.off(INPUT_BREAKAWAY).run(3);
    expect(['stop', 'wait']).toContain(rig.stage);
  });
});

describe('when the board reports a tick that was late', () => {
  it.each(['rest', ...CUT_MODES, 'retract'])('in %s, the trigger is off in the same tick', (mode) => {
    const rig = mode === 'rest' ? new Rig().ready() : new Rig(SLOW_LOWER).at(mode);
    rig.on(INPUT_OVERRUN).tick();
    expect(rig.trigger || rig.permit).toBe(false);
    expect(rig.fault).toBe('overrun');
  });
});

describe('a fault', () => {
  it('stays until it is reset, whatever else happens', () => {
    const rig = new Rig().at('follow').off(INPUT_BREAKAWAY).until('fault', 'wait');
    rig
      .off(INPUT_KEY)
      .on(INPUT_BREAKAWAY, INPUT_OVERRUN)
      .run(50)
      .off(INPUT_OVERRUN, INPUT_REQUEST)
      .on(INPUT_KEY)
      .run(50);
    expect(rig.fault).toBe('breakaway');
  });

  it('keeps the reading that caused it', () => {
    const rig = new Rig().at('follow').off(INPUT_STOP_CHAIN).tick();
    const caused_V = rig.real(OUTPUT_MEASURED_V);
    expect(caused_V).toBeGreaterThan(110);
    rig.run(100);
    expect(rig.real(OUTPUT_FAULT_READING_V)).toBe(caused_V);
  });
});

describe('the latched stop', () => {
  it('stays set, with the fault that set it, when the touch-off switch closes on the way up; a restart ends neither', () => {
    const rig = new Rig({ standstill_s: 1 }).cutting().run(100);
    rig.x_steps = 0;
    rig.until('fault', 'rise').run(30);
    expect([rig.fault, rig.latched]).toEqual(['standstill', true]);
    rig.plant = false;
    rig.true_V = 0;
    rig.on(INPUT_TOUCH).run(40);
    expect([rig.fault, rig.latched, rig.stage]).toEqual(['standstill', true, 'wait']);
    expect(rig.state('homed')).toBe(0);
    rig.controller.restart(FAULT_ROWS.find(({ name }) => name === rig.fault)!.code);
    rig.run(30);
    expect([rig.fault, rig.latched]).toEqual(['standstill', true]);
  });

  it('is named after the last of the faults that set it', () => {
    const rig = new Rig({ standstill_s: 1 }).cutting().run(100);
    rig.x_steps = 0;
    rig.until('fault', 'rise');
    rig.plant = false;
    rig.true_V = 60;
    rig.run(3000);
    expect([rig.fault, rig.latched]).toEqual(['voltage-at-rest', true]);
  });
});

describe('a retraction', () => {
  it('that closes the touch-off switch goes the wrong way: Z stops and must be homed', () => {
    const rig = new Rig().at('follow').run(300);
    rig.x_steps = 0;
    rig.off(INPUT_REQUEST).until('retract', 'rise').run(30);
    rig.plant = false;
    rig.true_V = 0;
    rig.on(INPUT_TOUCH).run(40);
    expect([rig.fault, rig.stage]).toEqual(['touch-stuck', 'wait']);
    expect(rig.owned).toBe(false);
    expect(rig.state('homed')).toBe(0);
  });
});

import { describe, expect, it } from 'vitest';
import { INPUT_REQUEST, INPUT_TOUCH } from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

/** The modes in which the switch is to be open. */
const AFTER_TOUCH_OFF = ['lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold'];

describe('a touch-off switch that closes after the touch-off', () => {
  it.each(AFTER_TOUCH_OFF)('in %s ends the cut within 25 ms: trigger and permit off in the same tick', (mode) => {
    const rig = new Rig().at(mode);
    rig.touch_stuck = true;
    let ticks = 0;
    for (; ticks < 100 && rig.mode !== 'fault'; ticks++) rig.tick();
    expect([rig.fault, rig.trigger, rig.permit, rig.latched]).toEqual(['contact', false, false, false]);
    expect(ticks).toBeLessThanOrEqual(25);
    expect(ticks).toBeGreaterThan(15);
  });

  it('lets Z go up only once the voltage has fallen, and no further down than its ramp', () => {
    const rig = new Rig().at('follow');
    rig.touch_stuck = true;
    rig.until('fault');
    rig.plant = false;
    rig.true_V = 100;
    const at_mm = rig.z_mm;
    rig.run(200);
    expect(rig.stage).toBe('fall');
    expect(Math.abs(rig.z_mm - at_mm)).toBeLessThan(0.05);
    rig.true_V = 0;
    rig.off(INPUT_TOUCH).run(3000);
    expect([rig.stage, rig.owned]).toEqual(['wait', false]);
    expect(rig.z_mm).toBeCloseTo(0, 6);
  });

  it('may stay closed for the first of the rise: the torch comes off the sheet', () => {
    const rig = new Rig().at('follow');
    rig.touch_stuck = true;
    rig.until('fault');
    rig.x_steps = 0;
    rig.until('fault', 'rise').run(20);
    expect(rig.state('touch')).toBe(1);
    rig.touch_stuck = false;
    rig.until('fault', 'wait');
    expect(rig.fault).toBe('contact');
    expect(rig.z_mm).toBeCloseTo(0, 6);
  });

  it('for less than that is chatter', () => {
    const rig = new Rig().at('follow');
    for (let n = 0; n < 20; n++) {
      rig.touch_stuck = true;
      rig.run(15);
      rig.touch_stuck = false;
      rig.run(5);
    }
    expect(rig.fault).toBe('none');
  });
});

describe('the chatter of a switch that has just closed', () => {
  it('is no opening: the sheet is where the switch stays open', () => {
    const rig = new Rig().ready();
    rig.plant = true;
    rig.on(INPUT_REQUEST).until('seek', 'open');
    // The switch closes at the sheet's top in the rig; the head's float holds it closed further up.
    const closed_mm = rig.sheet_mm;
    const float = (from: number, to: number) => {
      rig.sheet_mm = closed_mm + 0.8;
      for (let tick = 0; tick < to; tick++) {
        if (tick >= from) rig.sheet_mm = rig.z_mm - 0.01;
        rig.tick();
      }
      rig.sheet_mm = closed_mm + 0.8;
    };
    float(2, 10);
    expect(rig.until('lift').state('z_touched') / 400).toBeCloseTo(closed_mm + 0.8, 1);
  });
});

describe('X and Y that move before the motion permit', () => {
  const BEFORE = ['seek', 'lift', 'strike', 'pierce', 'lower'];

  it.each(BEFORE)('in %s are a fault within 50 ms; Z goes up', (mode) => {
    const rig = new Rig().at(mode);
    rig.y_steps = -8;
    let ticks = 0;
    for (; ticks < 100 && rig.mode !== 'fault'; ticks++) rig.tick();
    expect([rig.fault, rig.trigger, rig.latched]).toEqual(['early-motion', false, false]);
    expect(ticks).toBeLessThanOrEqual(50);
    rig.y_steps = 0;
    rig.run(4000);
    expect([rig.stage, rig.fault, rig.latched]).toEqual(['wait', 'early-motion', false]);
    expect(rig.z_mm).toBeCloseTo(0, 6);
  });

  it('and go on after it set the latched stop, after stray_ms', () => {
    const rig = new Rig({ stray_ms: 300 }).at('seek');
    rig.x_steps = 8;
    rig.until('fault').run(290);
    expect([rig.fault, rig.latched]).toEqual(['early-motion', false]);
    rig.run(20);
    expect([rig.fault, rig.latched]).toEqual(['stray-motion', true]);
  });

  it('at 4 mm/s, with a step in less than every tick, are one too', () => {
    const rig = new Rig().at('pierce');
    let steps = 0;
    for (; steps < 50 && rig.mode !== 'fault'; steps++) {
      rig.x_steps = steps % 3 === 2 ? 0 : 1;
      rig.tick();
    }
    expect(rig.fault).toBe('early-motion');
  });

  it('but short moves with a rest between them do not add up', () => {
    const rig = new Rig({ pierce_ms: 5000 }).at('pierce');
    for (let move = 0; move < 4; move++) {
      rig.x_steps = 8;
      rig.run(15);
      rig.x_steps = 0;
      rig.run(150);
    }
    expect([rig.mode, rig.fault]).toEqual(['pierce', 'none']);
  });

  it('but a rapid that ended just before the request is none, nor are single steps that come of interference', () => {
    const rig = new Rig().ready();
    rig.plant = true;
    rig.x_steps = 16;
    rig.run(200);
    rig.on(INPUT_REQUEST).run(3);
    rig.x_steps = 0;
    rig.until('strike');
    for (let tick = 0; tick < 1000; tick++) {
      rig.x_steps = tick % 100 === 0 ? 1 : 0;
      rig.tick();
    }
    expect(rig.fault).toBe('none');
  });
});

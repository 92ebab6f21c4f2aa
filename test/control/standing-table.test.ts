import { describe, expect, it } from 'vitest';
import { INPUT_REQUEST } from '../../firmware/wire/layout.gen.js';
import { parameterId, Rig } from './rig.js';

describe('motion after the permit was withdrawn', () => {
  const lost = () => {
    const rig = new Rig({ stray_ms: 300 }).at('follow');
    rig.arc_burns = false;
    return rig.until('fault');
  };

  it('for longer than stray_ms sets the latched stop', () => {
    const rig = lost().run(290);
    expect(rig.latched).toBe(false);
    rig.run(20);
    expect(rig.fault).toBe('stray-motion');
    expect(rig.latched).toBe(true);
  });

  it('counts too when it is so slow that most ticks have no step', () => {
    const rig = lost();
    // One step in five ticks at 160 steps/mm: 1.25 mm/s.
    for (let i = 0; i < 1000; i++) {
      rig.x_steps = i % 5 === 0 ? 1 : 0;
      rig.tick();
    }
    expect(rig.fault).toBe('stray-motion');
  });

  it('in Y counts as in X', () => {
    const rig = lost();
    rig.x_steps = 0;
    rig.y_steps = -8;
    rig.run(310);
    expect(rig.latched).toBe(true);
  });

  it('that ends in time opens nothing', () => {
    const rig = lost().run(200);
    rig.x_steps = 0;
    rig.run(3000);
    expect(rig.latched).toBe(false);
    expect(rig.fault).toBe('no-voltage');
  });

  it('is allowed once the request is off, and when the permit had never been given', () => {
    const off = lost().off(INPUT_REQUEST).run(3000);
    expect(off.latched).toBe(false);
    const never = new Rig({ stray_ms: 300 }).at('lift').off(4).run(1);
    never.x_steps = 8;
    never.run(3000);
    expect(never.fault).toBe('stop-chain');
    expect(never.latched).toBe(false);
  });

  it('is allowed when it was given in the contour before, and not yet in this one', () => {
    const rig = new Rig({ stray_ms: 300 }).at('retract');
    rig.x_steps = 0;
    rig.until('rest').run(40).on(INPUT_REQUEST).until('lift').off(4).run(1);
    rig.x_steps = 8;
    rig.run(3000);
    expect(rig.fault).toBe('stop-chain');
    expect(rig.latched).toBe(false);
  });
});

describe('the longest arc', () => {
  it('ends the cut after arc_longest_s', () => {
    const rig = new Rig({ arc_longest_s: 3 }).strike();
    while (rig.mode !== 'pierce') rig.tick();
    const from = rig.ticks;
    rig.until('settle');
    rig.x_steps = 8;
    rig.until('fault');
    expect(rig.fault).toBe('arc-long');
    expect(rig.ticks - from).toBe(3000);
    expect(rig.trigger).toBe(false);
  });

  it('counts again for each contour', () => {
    const rig = new Rig({ arc_longest_s: 3 });
    for (let i = 0; i < 3; i++) {
      rig.at('follow').run(1000).off(INPUT_REQUEST);
      rig.x_steps = 0;
      rig.until('rest');
    }
    expect(rig.fault).toBe('none');
    expect(rig.controller.parameter(parameterId('arc_longest_s'))).toBe(3);
  });
});

describe('a table that stands under the arc', () => {
  /** Runs until the fault; @returns its name and the ticks that it took from now on. */
  const faultAfter = (rig: Rig, most_ms = 8000): [string, number] => {
    const from = rig.ticks;
    for (let tick = 0; tick < most_ms && rig.mode !== 'fault'; tick++) rig.tick();
    return [rig.fault, rig.ticks - from];
  };

  it('from the motion permit on ends the cut after standstill_s, with the latched stop open', () => {
    const rig = new Rig({ standstill_s: 2 }).strike().until('settle');
    // The permit is given in the last tick of lower; it is seen in the tick after that.
    expect(faultAfter(rig)).toEqual(['standstill', 2000]);
    expect([rig.trigger, rig.permit, rig.latched]).toEqual([false, false, true]);
  });

  it('in settle that learns, follow, a corner hold and the hold input is the same', () => {
    const learning = new Rig({ standstill_s: 2, target_learned: 1 }).strike().until('settle', 'learn');
    expect(faultAfter(learning)[0]).toBe('standstill');
    const following = new Rig({ standstill_s: 2, corner_fraction: 0 }).at('follow');
    following.x_steps = 0;
    expect(following.run(1000).mode).toBe('follow');
    expect(faultAfter(following)[0]).toBe('standstill');
    const corner = new Rig({ standstill_s: 2 }).at('follow').run(500);
    corner.x_steps = 0;
    expect(corner.run(1000).hold).toBe('corner');
    expect(faultAfter(corner)[0]).toBe('standstill');
    const held = new Rig({ standstill_s: 2 }).at('hold');
    held.x_steps = 0;
    expect(held.run(1000).hold).toBe('external');
    expect(faultAfter(held)[0]).toBe('standstill');
  });

  it('counts from when the low-passed feed has gone, within seven of its time constants', () => {
    const rig = new Rig({ standstill_s: 2 }).at('follow').run(500);
    rig.x_steps = 0;
    const [fault, after_ms] = faultAfter(rig);
    expect(fault).toBe('standstill');
    expect(after_ms).toBeGreaterThan(2000);
    expect(after_ms).toBeLessThanOrEqual(2000 + 7 * 13);
  });

  it('counts again after any motion, in Y as in X, backwards, and as slow as 1 mm/s', () => {
    const rig = new Rig({ standstill_s: 2 }).strike().until('settle').run(1900);
    // One step in six ticks at 160 steps/mm: 1.04 mm/s.
    for (let tick = 0; tick < 4000; tick++) {
      rig.y_steps = tick % 6 === 0 ? -1 : 0;
      rig.tick();
    }
    expect(rig.fault).toBe('none');
    rig.y_steps = 0;
    expect(rig.run(1900).fault).toBe('none');
    expect(faultAfter(rig)[0]).toBe('standstill');
  });

  it('is nobody’s business before the permit: a slow touch-off and a long pierce may take their time', () => {
    const rig = new Rig({ standstill_s: 1, pierce_ms: 3000, seek_fast_mm_s: 2 }).at('follow').run(500);
    expect(rig.fault).toBe('none');
  });

  it('counts again for each contour, and at rest not at all', () => {
    const rig = new Rig({ standstill_s: 2 }).strike().until('settle').run(1500).off(INPUT_REQUEST).until('rest');
    expect(rig.state('standstill_ms')).toBe(0);
    rig.run(3000).on(INPUT_REQUEST).until('settle').run(1500);
    expect(rig.fault).toBe('none');
    rig.x_steps = 8;
    expect(rig.until('follow').fault).toBe('none');
  });
});

import { describe, expect, it } from 'vitest';
import {
  INPUT_REQUEST,
  INPUT_RESET,
  OUTPUT_FEED_EFFECT_V,
  OUTPUT_MEASURED_ERROR_MM,
  OUTPUT_MEASURED_FEED_MM_S,
  OUTPUT_MEASURED_V,
  OUTPUT_SLOPE_X,
  OUTPUT_SLOPE_Y,
  OUTPUT_TARGET_V,
  OUTPUT_TICK_V,
  OUTPUT_Z_VELOCITY_MM_S,
} from '../../firmware/wire/layout.gen.js';
import { Desk, parameterId } from './bench.js';
import { STATE_MAP } from './state-map.js';

const REALS = [
  OUTPUT_MEASURED_V,
  OUTPUT_MEASURED_ERROR_MM,
  OUTPUT_FEED_EFFECT_V,
  OUTPUT_MEASURED_FEED_MM_S,
  OUTPUT_SLOPE_X,
  OUTPUT_SLOPE_Y,
  OUTPUT_TARGET_V,
  OUTPUT_TICK_V,
  OUTPUT_Z_VELOCITY_MM_S,
];
const finite = (desk: Desk): boolean => REALS.every((offset) => Number.isFinite(desk.real(offset)));

describe('the guard on Z', () => {
  it('ends the cut before the end of the travel, and Z never goes past it', () => {
    const desk = new Desk({
      travel_mm: 14,
      seek_travel_mm: 14,
      floor_allowance_mm: 5,
      wrong_way_mm: 5,
      follow_down_mm_s: 10,
    });
    desk.at('follow');
    desk.run(3000, () => {
      // A sheet that falls away at 3 mm/s.
      if (desk.mode === 'follow') desk.sheet_mm -= 0.003;
      else desk.x_steps = 0;
      expect(desk.z_mm).toBeGreaterThanOrEqual(-14);
    });
    expect(desk.fault).toBe('travel');
  });

  it('ends the cut before the dive bound below the touched sheet', () => {
    const desk = new Desk({ dive_mm: 1, floor_allowance_mm: 5, wrong_way_mm: 5 }).at('follow');
    const bound_mm = desk.state('z_touched') / 400 - 1;
    desk.run(3000, () => {
      if (desk.mode === 'follow') desk.sheet_mm -= 0.003;
      else desk.x_steps = 0;
      expect(desk.z_mm).toBeGreaterThanOrEqual(bound_mm);
    });
    expect(desk.fault).toBe('travel');
  });

  it('ends the cut before Z comes back to where it was taken over', () => {
    const desk = new Desk({ wrong_way_mm: 5 });
    desk.sheet_mm = -4;
    desk.at('follow');
    desk.run(3000, () => {
      if (desk.mode === 'follow') desk.sheet_mm += 0.002;
      else desk.x_steps = 0;
      expect(desk.z_mm).toBeLessThanOrEqual(1e-9);
    });
    expect(desk.fault).toBe('travel');
  });

  it('stops what gets past those checks at the bound itself, in the same tick', () => {
    for (const [name, pending] of [
      ['below', -200],
      ['above', 200],
    ] as const) {
      const desk = new Desk().at('follow');
      // As a disturbed memory would: travel that is due at once although Z stands still near the bound.
      const z = name === 'below' ? desk.state('z_touched') - 15 * 400 + 1 : -1;
      desk.disturb('z', z).disturb('velocity_mm_s', 0).disturb('pending', pending).disturb('integral_mm_s', 0);
      desk.tick();
      expect(desk.fault, name).toBe('travel');
      expect(Math.abs(desk.z_steps), name).toBe(1);
    }
  });

  it('lets Z neither on nor back up when it is below the dive bound already', () => {
    const desk = new Desk().at('follow');
    desk
      .disturb('z', desk.state('z_touched') - 15 * 400 - 100)
      .disturb('velocity_mm_s', 0)
      .disturb('pending', -200);
    desk.tick();
    expect(desk.z_steps).toBe(0);
    expect(desk.fault).toBe('travel');
  });

  it('stops a retract at the place of the take-over, whatever is due, without a fault', () => {
    const desk = new Desk().at('retract').until('retract', 'rise').run(20);
    desk.disturb('z', -2).disturb('pending', 15).tick();
    expect(desk.state('z')).toBe(0);
    desk.x_steps = 0;
    desk.until('rest');
    expect(desk.fault).toBe('none');
  });

  it('never makes a jump of a bound that begins to count with Z already below it', () => {
    const desk = new Desk({ touch_offset_mm: -3, dive_mm: 1 }).ready();
    desk.plant = true;
    desk.on(INPUT_REQUEST);
    for (let i = 0; i < 4000; i++) {
      desk.tick();
      expect(Math.abs(desk.z_steps)).toBeLessThanOrEqual(17);
    }
  });

  it('emits no more steps than the axis may, whatever the state says', () => {
    for (const velocity_mm_s of [1e4, -1e4]) {
      const desk = new Desk().at('follow').disturb('velocity_mm_s', velocity_mm_s).tick();
      // 40 mm/s · 400 steps/mm = 16 steps a tick, and one for rounding.
      expect(Math.abs(desk.z_steps)).toBeLessThanOrEqual(17);
    }
  });

  it('emits no steps while Z belongs to the motion controller', () => {
    // A memory disturbed while Z goes down.
    const desk = new Desk().at('seek').disturb('owned', 0);
    desk.run(50, () => expect(desk.z_steps).toBe(0));
    expect(desk.real(OUTPUT_Z_VELOCITY_MM_S)).toBeLessThan(-10);
  });
});

describe('the guard on the trigger', () => {
  it.each<[string, number]>([
    ['armed', 0],
    ['touched_off', 0],
    ['fault', 6],
    ['mode', 1],
    ['mode', 10],
  ])('takes it away when a disturbed memory says %s = %i', (name, value) => {
    const desk = new Desk().at('follow').disturb(name, value).tick();
    expect(desk.trigger).toBe(false);
    expect(desk.permit).toBe(false);
  });
});

describe('a number that is not finite', () => {
  const reals = [...STATE_MAP].filter(([, field]) => field.real).map(([name]) => name);

  it.each(reals)('in %s never reaches an output, and is gone after a reset', (name) => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const desk = new Desk().at('follow').run(600).disturb(name, value);
      for (let i = 0; i < 300; i++) {
        desk.tick();
        expect(finite(desk)).toBe(true);
        expect(Number.isInteger(desk.z_steps)).toBe(true);
      }
      desk.x_steps = 0;
      desk.off(INPUT_REQUEST).run(3000).on(INPUT_RESET).run(1).off(INPUT_RESET);
      expect(desk.mode).toBe('rest');
      desk.off(1);
      desk.at('follow').run(500);
      expect(desk.mode).toBe('follow');
    }
  });

  it('is forgotten in a fault too, which stays the fault that it was', () => {
    const desk = new Desk().at('follow').off(4).until('fault', 'wait').disturb('slope_x', Number.NaN).tick();
    expect(finite(desk)).toBe(true);
    expect(desk.fault).toBe('stop-chain');
  });

  it.each([
    [2 ** 31 - 1, 2 ** 31 - 1],
    [-(2 ** 31), 2 ** 31 - 1],
    [1e6, 1e6],
    [-32768, -32768],
  ])('comes of no step counts: X %i and Y %i in every tick', (x, y) => {
    const desk = new Desk({ x_steps_per_mm: 1, y_steps_per_mm: 1 }).at('follow').run(300);
    for (let i = 0; i < 400; i++) {
      desk.x_steps = i % 3 === 0 ? x : i % 3 === 1 ? y : 5;
      desk.y_steps = i % 5 === 0 ? -x : y;
      desk.tick();
      expect(finite(desk)).toBe(true);
      expect(desk.fault).not.toBe('not-finite');
    }
  });
});

describe('a wrong direction', () => {
  it('of Z, where a command to rise lowers the torch, is a fault before a millimetre is lost', () => {
    const desk = new Desk().at('follow').run(500);
    const start_mm = desk.standoff_mm;
    let mirrored_mm = 0;
    desk.run(3000, () => {
      // The plant is told the opposite of every step.
      if (desk.mode === 'fault') desk.x_steps = 0;
      if (desk.owned && desk.mode === 'follow') {
        mirrored_mm += (2 * desk.z_steps) / 400;
        desk.z_mm -= (2 * desk.z_steps) / 400;
      }
      if (desk.ticks % 400 === 0) desk.sheet_mm += 0.02;
    });
    expect(desk.fault).toBe('wrong-way');
    expect(Math.abs(mirrored_mm)).toBeGreaterThan(0);
    expect(Math.abs(desk.standoff_mm - start_mm)).toBeLessThan(2);
  });
});

describe('motion after the permit was withdrawn', () => {
  const lost = () => {
    const desk = new Desk({ stray_ms: 300 }).at('follow');
    desk.arc_burns = false;
    return desk.until('fault');
  };

  it('for longer than stray_ms opens the latched stop', () => {
    const desk = lost().run(290);
    expect(desk.latched).toBe(false);
    desk.run(20);
    expect(desk.fault).toBe('stray-motion');
    expect(desk.latched).toBe(true);
  });

  it('counts too when it is so slow that most ticks have no step', () => {
    const desk = lost();
    // One step in five ticks at 160 steps/mm: 1.25 mm/s.
    for (let i = 0; i < 1000; i++) {
      desk.x_steps = i % 5 === 0 ? 1 : 0;
      desk.tick();
    }
    expect(desk.fault).toBe('stray-motion');
  });

  it('in Y counts as in X', () => {
    const desk = lost();
    desk.x_steps = 0;
    desk.y_steps = -8;
    desk.run(310);
    expect(desk.latched).toBe(true);
  });

  it('that ends in time opens nothing', () => {
    const desk = lost().run(200);
    desk.x_steps = 0;
    desk.run(3000);
    expect(desk.latched).toBe(false);
    expect(desk.fault).toBe('no-voltage');
  });

  it('is allowed once the request is off, and when the permit had never been given', () => {
    const off = lost().off(INPUT_REQUEST).run(3000);
    expect(off.latched).toBe(false);
    const never = new Desk({ stray_ms: 300 }).at('lift').off(4).run(1);
    never.x_steps = 8;
    never.run(3000);
    expect(never.fault).toBe('stop-chain');
    expect(never.latched).toBe(false);
  });

  it('is allowed when it was given in the contour before, and not yet in this one', () => {
    const desk = new Desk({ stray_ms: 300 }).at('retract');
    desk.x_steps = 0;
    desk.until('rest').run(40).on(INPUT_REQUEST).until('lift').off(4).run(1);
    desk.x_steps = 8;
    desk.run(3000);
    expect(desk.fault).toBe('stop-chain');
    expect(desk.latched).toBe(false);
  });
});

describe('the longest arc', () => {
  it('ends the cut after arc_longest_s', () => {
    const desk = new Desk({ arc_longest_s: 3 }).strike();
    while (desk.mode !== 'pierce') desk.tick();
    const from = desk.ticks;
    desk.until('settle');
    desk.x_steps = 8;
    desk.until('fault');
    expect(desk.fault).toBe('arc-long');
    expect(desk.ticks - from).toBe(3000);
    expect(desk.trigger).toBe(false);
  });

  it('counts again for each contour', () => {
    const desk = new Desk({ arc_longest_s: 3 });
    for (let i = 0; i < 3; i++) {
      desk.at('follow').run(1000).off(INPUT_REQUEST);
      desk.x_steps = 0;
      desk.until('rest');
    }
    expect(desk.fault).toBe('none');
    expect(desk.controller.parameter(parameterId('arc_longest_s'))).toBe(3);
  });
});

describe('a table that stands under the arc', () => {
  /** Runs until the fault; @returns its name and the ticks that it took from now on. */
  const faultAfter = (desk: Desk, most_ms = 8000): [string, number] => {
    const from = desk.ticks;
    for (let tick = 0; tick < most_ms && desk.mode !== 'fault'; tick++) desk.tick();
    return [desk.fault, desk.ticks - from];
  };

  it('from the motion permit on ends the cut after standstill_s, with the latched stop open', () => {
    const desk = new Desk({ standstill_s: 2 }).strike().until('settle');
    // The permit is given in the last tick of lower; it is seen in the tick after that.
    expect(faultAfter(desk)).toEqual(['standstill', 2000]);
    expect([desk.trigger, desk.permit, desk.latched]).toEqual([false, false, true]);
  });

  it('in settle that learns, follow, a corner hold and the hold input is the same', () => {
    const learning = new Desk({ standstill_s: 2, target_learned: 1 }).strike().until('settle', 'learn');
    expect(faultAfter(learning)[0]).toBe('standstill');
    const following = new Desk({ standstill_s: 2, corner_fraction: 0 }).at('follow');
    following.x_steps = 0;
    expect(following.run(1000).mode).toBe('follow');
    expect(faultAfter(following)[0]).toBe('standstill');
    const corner = new Desk({ standstill_s: 2 }).at('follow').run(500);
    corner.x_steps = 0;
    expect(corner.run(1000).hold).toBe('corner');
    expect(faultAfter(corner)[0]).toBe('standstill');
    const held = new Desk({ standstill_s: 2 }).at('hold');
    held.x_steps = 0;
    expect(held.run(1000).hold).toBe('external');
    expect(faultAfter(held)[0]).toBe('standstill');
  });

  it('counts from when the low-passed feed has gone, within seven of its time constants', () => {
    const desk = new Desk({ standstill_s: 2 }).at('follow').run(500);
    desk.x_steps = 0;
    const [fault, after_ms] = faultAfter(desk);
    expect(fault).toBe('standstill');
    expect(after_ms).toBeGreaterThan(2000);
    expect(after_ms).toBeLessThanOrEqual(2000 + 7 * 13);
  });

  it('counts again after any motion, in Y as in X, backwards, and as slow as 1 mm/s', () => {
    const desk = new Desk({ standstill_s: 2 }).strike().until('settle').run(1900);
    // One step in six ticks at 160 steps/mm: 1.04 mm/s.
    for (let tick = 0; tick < 4000; tick++) {
      desk.y_steps = tick % 6 === 0 ? -1 : 0;
      desk.tick();
    }
    expect(desk.fault).toBe('none');
    desk.y_steps = 0;
    expect(desk.run(1900).fault).toBe('none');
    expect(faultAfter(desk)[0]).toBe('standstill');
  });

  it('is nobody’s business before the permit: a slow touch-off and a long pierce may take their time', () => {
    const desk = new Desk({ standstill_s: 1, pierce_ms: 3000, seek_fast_mm_s: 2 }).at('follow').run(500);
    expect(desk.fault).toBe('none');
  });

  it('counts again for each contour, and at rest not at all', () => {
    const desk = new Desk({ standstill_s: 2 }).strike().until('settle').run(1500).off(INPUT_REQUEST).until('rest');
    expect(desk.state('standstill_ms')).toBe(0);
    desk.run(3000).on(INPUT_REQUEST).until('settle').run(1500);
    expect(desk.fault).toBe('none');
    desk.x_steps = 8;
    expect(desk.until('follow').fault).toBe('none');
  });
});

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
import { Desk } from './bench.js';
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

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
import { parameterId, Rig } from './rig.js';
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
const finite = (rig: Rig): boolean => REALS.every((offset) => Number.isFinite(rig.real(offset)));

describe('the guard on Z', () => {
  it('ends the cut before the end of the travel, and Z never goes past it', () => {
    const rig = new Rig({
      travel_mm: 14,
      seek_travel_mm: 14,
      floor_allowance_mm: 5,
      wrong_way_mm: 5,
      follow_down_mm_s: 10,
    });
    rig.at('follow');
    rig.run(3000, () => {
      // A sheet that falls away at 3 mm/s.
      if (rig.mode === 'follow') rig.sheet_mm -= 0.003;
      else rig.x_steps = 0;
      expect(rig.z_mm).toBeGreaterThanOrEqual(-14);
    });
    expect(rig.fault).toBe('travel');
  });

  it('ends the cut before the dive bound below the touched sheet', () => {
    const rig = new Rig({ dive_mm: 1, floor_allowance_mm: 5, wrong_way_mm: 5 }).at('follow');
    const bound_mm = rig.state('z_touched') / 400 - 1;
    rig.run(3000, () => {
      if (rig.mode === 'follow') rig.sheet_mm -= 0.003;
      else rig.x_steps = 0;
      expect(rig.z_mm).toBeGreaterThanOrEqual(bound_mm);
    });
    expect(rig.fault).toBe('travel');
  });

  it('ends the cut before Z comes back to where it was taken over', () => {
    const rig = new Rig({ wrong_way_mm: 5 });
    rig.sheet_mm = -5;
    rig.at('follow');
    rig.run(3000, () => {
      if (rig.mode === 'follow') rig.sheet_mm += 0.002;
      else rig.x_steps = 0;
      expect(rig.z_mm).toBeLessThanOrEqual(1e-9);
    });
    expect(rig.fault).toBe('travel');
  });

  it('stops what gets past those checks at the bound itself, in the same tick', () => {
    for (const [name, pending] of [
      ['below', -200],
      ['above', 200],
    ] as const) {
      const rig = new Rig().at('follow');
      // As a disturbed memory would: travel that is due at once although Z stands still near the bound.
      const z = name === 'below' ? rig.state('z_touched') - 15 * 400 + 1 : -1;
      rig.disturb('z', z).disturb('velocity_mm_s', 0).disturb('pending', pending).disturb('integral_mm_s', 0);
      rig.tick();
      expect(rig.fault, name).toBe('travel');
      expect(Math.abs(rig.z_steps), name).toBe(1);
    }
  });

  it.each([
    ['above', 22, true],
    ['above', 23, false],
    ['below', 22, true],
    ['below', 23, false],
  ] as const)(
    'ends the cut in the last tick in which Z can come to rest: %s, %i steps away: %s',
    (side, steps, ends) => {
      const rig = new Rig().at('follow');
      const bottom = rig.state('z_touched') - 15 * 400;
      // 10 mm/s at 1500 mm/s² and 400 steps/mm: 13.3 steps, two ticks of 4, and one.
      rig.disturb('z', side === 'above' ? -steps : bottom + steps);
      rig.disturb('velocity_mm_s', side === 'above' ? 10 : -10).tick();
      expect(rig.fault).toBe(ends ? 'travel' : 'none');
    },
  );

  it('stops at the bound when it is a single step that would pass it', () => {
    const rig = new Rig().at('follow');
    const backlash_steps = rig.controller.parameter(parameterId('reversal_um')) * 0.0005 * 400;
    rig.disturb('z', rig.state('z_touched') - 15 * 400).disturb('velocity_mm_s', 0);
    rig
      .disturb('integral_mm_s', 0)
      .disturb('pending', -backlash_steps - 1.5)
      .tick();
    expect([rig.fault, rig.z_steps]).toEqual(['travel', 0]);
  });

  it('lets Z neither on nor back up when it is below the dive bound already', () => {
    const rig = new Rig().at('follow');
    rig
      .disturb('z', rig.state('z_touched') - 15 * 400 - 100)
      .disturb('velocity_mm_s', 0)
      .disturb('pending', -200);
    rig.tick();
    expect(rig.z_steps).toBe(0);
    expect(rig.fault).toBe('travel');
  });

  it('stops a retract at the place of the take-over, whatever is due, without a fault', () => {
    const rig = new Rig().at('retract').until('retract', 'rise').run(20);
    rig.disturb('z', -2).disturb('pending', 15).tick();
    expect([rig.state('z'), rig.real(OUTPUT_Z_VELOCITY_MM_S), rig.state('pending')]).toEqual([0, 0, 0]);
    rig.x_steps = 0;
    rig.until('rest');
    expect(rig.fault).toBe('none');
  });

  it('never makes a jump of a bound that begins to count with Z already below it', () => {
    const rig = new Rig({ touch_offset_mm: -3, dive_mm: 1 }).ready();
    rig.plant = true;
    rig.on(INPUT_REQUEST);
    for (let i = 0; i < 4000; i++) {
      rig.tick();
      expect(Math.abs(rig.z_steps)).toBeLessThanOrEqual(17);
    }
  });

  it('emits no more steps than the axis may, whatever the state says', () => {
    for (const velocity_mm_s of [1e4, -1e4]) {
      const rig = new Rig().at('follow').disturb('velocity_mm_s', velocity_mm_s).tick();
      // 40 mm/s · 400 steps/mm = 16 steps a tick, and one for rounding.
      expect(Math.abs(rig.z_steps)).toBeLessThanOrEqual(17);
    }
  });

  it('emits no steps while Z belongs to the motion controller', () => {
    // A memory disturbed while Z goes down.
    const rig = new Rig().at('seek').disturb('owned', 0);
    rig.run(50, () => expect(rig.z_steps).toBe(0));
    expect(rig.real(OUTPUT_Z_VELOCITY_MM_S)).toBeLessThan(-10);
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
    const rig = new Rig().at('follow').disturb(name, value).tick();
    expect(rig.trigger).toBe(false);
    expect(rig.permit).toBe(false);
  });
});

describe('a number that is not finite', () => {
  const reals = [...STATE_MAP].filter(([, field]) => field.real).map(([name]) => name);

  it.each(reals)('in %s never reaches an output, and is gone after a reset', (name) => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const target_learned = /^(Ruler|Lag)\./.test(name) ? 1 : 0;
      const rig = new Rig({ target_learned }).at('follow').run(600).disturb(name, value);
      for (let i = 0; i < 300; i++) {
        rig.tick();
        expect(finite(rig)).toBe(true);
        expect(Number.isInteger(rig.z_steps)).toBe(true);
      }
      rig.x_steps = 0;
      rig.off(INPUT_REQUEST).run(3000).on(INPUT_RESET).run(1).off(INPUT_RESET);
      expect(rig.mode).toBe('rest');
      rig.off(1);
      rig.at('follow').run(500);
      expect(rig.mode).toBe('follow');
    }
  });

  /** What the guard looks at and no tick works out anew. */
  const WATCHED = [
    ...['pending', 'integral_mm_s', 'error_filtered_mm', 'rate_mm_s', 'slope_x', 'slope_y', 'feed_slow_mm_s'],
    ...['feed_effect_V', 'proof_slope_V_per_mm'],
  ];

  it.each(WATCHED)('in %s ends a cut in the same tick, and no step comes out', (name) => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const rig = new Rig({ gain_d: 0.01 }).at('follow').disturb(name, value).tick();
      expect([rig.fault, rig.z_steps, rig.trigger], `${value}`).toEqual(['not-finite', 0, false]);
    }
  });

  it('is forgotten in a fault too, which stays the fault that it was', () => {
    const rig = new Rig().at('follow').off(4).until('fault', 'wait').disturb('slope_x', Number.NaN).tick();
    expect(finite(rig)).toBe(true);
    expect(rig.fault).toBe('stop-chain');
  });

  it.each([
    [2 ** 31 - 1, 2 ** 31 - 1],
    [-(2 ** 31), 2 ** 31 - 1],
    [1e6, 1e6],
    [-32768, -32768],
  ])('comes of no step counts: X %i and Y %i in every tick', (x, y) => {
    const rig = new Rig({ x_steps_per_mm: 1, y_steps_per_mm: 1 }).at('follow').run(300);
    for (let i = 0; i < 400; i++) {
      rig.x_steps = i % 3 === 0 ? x : i % 3 === 1 ? y : 5;
      rig.y_steps = i % 5 === 0 ? -x : y;
      rig.tick();
      expect(finite(rig)).toBe(true);
      expect(rig.fault).not.toBe('not-finite');
      expect(Math.abs(rig.state('x_mm'))).toBeLessThanOrEqual(10);
      expect(Math.abs(rig.state('y_mm'))).toBeLessThanOrEqual(10);
    }
  });
});

describe('a wrong direction', () => {
  it('of Z, where a command to rise lowers the torch, is a fault before a millimetre is lost', () => {
    const rig = new Rig().at('follow').run(500);
    const start_mm = rig.standoff_mm;
    // The sheet rises: what is wrong then leads down.
    rig.sheet_mm += 0.02;
    let mirrored_mm = 0;
    let at_fault_mm = Number.NaN;
    rig.run(3000, () => {
      if (rig.mode === 'fault' && Number.isNaN(at_fault_mm)) at_fault_mm = rig.standoff_mm;
      // The plant is told the opposite of every step.
      if (rig.mode === 'fault') rig.x_steps = 0;
      if (rig.owned && rig.mode === 'follow') {
        mirrored_mm += (2 * rig.z_steps) / 400;
        rig.z_mm -= (2 * rig.z_steps) / 400;
      }
      if (rig.ticks % 400 === 0) rig.sheet_mm += 0.02;
    });
    expect(rig.fault).toBe('wrong-way');
    expect(Math.abs(mirrored_mm)).toBeGreaterThan(0);
    expect(Math.abs(at_fault_mm - start_mm)).toBeLessThan(2);
  });
});

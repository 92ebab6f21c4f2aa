import { describe, expect, it } from 'vitest';
import {
  INPUT_KEY,
  OUTPUT_TARGET_V,
  SET_DONE,
  SET_NOT_NOW,
  SET_RANGE,
  SET_UNKNOWN,
} from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { Desk, parameterId } from './bench.js';

/** The next f32 beyond a value, away from zero or from it. */
function beside(value: number, up: boolean): number {
  const view = new DataView(new ArrayBuffer(4));
  view.setFloat32(0, value);
  if (view.getFloat32(0) === 0) return up ? 1e-30 : -1e-30;
  view.setInt32(0, view.getInt32(0) + (view.getFloat32(0) > 0 === up ? 1 : -1));
  return view.getFloat32(0);
}

it.each(PARAMETER_ROWS.filter(({ min, max }) => min <= 0 && max >= 0).map(({ name }) => name))(
  '%s takes −0 for 0: the module compares magnitudes by their bits',
  (name) => {
    const desk = new Desk();
    expect(desk.set(name, -0)).toBe(SET_DONE);
    expect(desk.controller.parameter(parameterId(name))).toBe(0);
  },
);

describe.each(PARAMETER_ROWS.map((row) => [row.name, row] as const))('%s', (name, row) => {
  it('starts at its default and takes both ends of its range', () => {
    const desk = new Desk();
    expect(desk.controller.parameter(row.id)).toBe(Math.fround(row.default));
    for (const value of [row.min, row.max, row.default]) {
      expect(desk.set(name, value)).toBe(SET_DONE);
      expect(desk.controller.parameter(row.id)).toBe(Math.fround(value));
    }
  });

  it('refuses what is outside, by however little, and NaN, and stays as it was', () => {
    const desk = new Desk();
    const refused = [
      beside(row.min, false),
      beside(row.max, true),
      Number.NaN,
      Number.POSITIVE_INFINITY,
      Number.NEGATIVE_INFINITY,
    ];
    if (row.integer) refused.push(0.5, beside(1, false), beside(1, true));
    for (const value of refused) expect(desk.set(name, value), `${value}`).toBe(SET_RANGE);
    expect(desk.controller.parameter(row.id)).toBe(Math.fround(row.default));
  });
});

it('every parameter that is a switch takes 0 and 1 and nothing between', () => {
  const switches = PARAMETER_ROWS.filter(({ unit, min, max, meaning }) => {
    return unit === '1' && min === 0 && max === 1 && /\b1: /.test(meaning);
  });
  expect(switches.map((row) => row.name)).toEqual([
    'supply_contact',
    'target_learned',
    'hold_carried',
    'feed_effect_learned',
  ]);
  for (const row of switches) expect(row.integer).toBe(true);
});

describe('a parameter', () => {
  it('that does not exist is unknown', () => {
    const { controller } = new Desk();
    expect(controller.setParameter(-1, 1)).toBe(SET_UNKNOWN);
    expect(controller.setParameter(PARAMETER_ROWS.length, 1)).toBe(SET_UNKNOWN);
    expect(controller.setParameter(2 ** 31 - 1, 1)).toBe(SET_UNKNOWN);
  });

  const others = PARAMETER_ROWS.filter((row) => row.name !== 'trim_V');
  const refusedAll = (desk: Desk) => {
    for (const row of others) expect(desk.set(row.name, row.max), row.name).toBe(SET_NOT_NOW);
    for (const row of others) expect(desk.controller.parameter(row.id)).toBe(Math.fround(row.default));
  };

  it('does not change while the key is on', () => refusedAll(new Desk().ready()));

  it.each(['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold', 'retract'])(
    'does not change in %s, with the key off or on',
    (mode) => {
      const desk = new Desk({}).at(mode);
      refusedAll(desk);
      desk.off(INPUT_KEY).tick();
      refusedAll(desk);
    },
  );

  it('does not change while a fault is latched', () => {
    refusedAll(new Desk().at('follow').off(4).until('fault', 'wait').off(INPUT_KEY).run(600));
  });

  it('does not change with voltage at the tap', () => {
    const desk = new Desk();
    desk.true_V = 40;
    refusedAll(desk.run(16));
  });

  it('trim_V changes at any time, and leads the target at 2 V/s', () => {
    const desk = new Desk().at('follow').run(1500);
    const before_V = desk.real(OUTPUT_TARGET_V);
    expect(desk.set('trim_V', 3)).toBe(SET_DONE);
    expect(desk.set('trim_V', 11)).toBe(SET_RANGE);
    desk.run(500);
    // The feed effect is steady here; f32 sums of 0.002 V.
    expect(desk.real(OUTPUT_TARGET_V) - before_V).toBeCloseTo(1, 1);
    desk.run(1500);
    expect(desk.real(OUTPUT_TARGET_V) - before_V).toBeCloseTo(3, 1);
    expect(desk.set('trim_V', -3)).toBe(SET_DONE);
    desk.run(1000);
    expect(desk.real(OUTPUT_TARGET_V) - before_V).toBeCloseTo(1, 1);
  });

  it('that changes makes the box forget what it has learned', () => {
    const desk = new Desk({ feed_effect_V: 12 });
    desk.disturb('learned_once', 1).disturb('base_target_V', 130);
    expect(desk.set('target_V', 110)).toBe(SET_DONE);
    desk.run(1);
    expect(desk.state('learned_once')).toBe(0);
    expect(desk.state('base_target_V')).toBe(110);
    expect(desk.state('feed_effect_V')).toBe(12);
  });

  it('survives power-up, which forgets everything else', () => {
    const desk = new Desk({ target_V: 110 }).at('follow');
    desk.controller.powerUp();
    expect(desk.controller.parameter(parameterId('target_V'))).toBe(110);
    desk.tick();
    expect(desk.mode).toBe('rest');
    expect(desk.state('homed') + desk.state('armed')).toBe(0);
  });
});

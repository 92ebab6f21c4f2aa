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
import { parameterId, Rig } from './rig.js';

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
    const rig = new Rig({ target_learned: 1 });
    expect(rig.set(name, -0)).toBe(SET_DONE);
    expect(rig.controller.parameter(parameterId(name))).toBe(0);
  },
);

describe.each(PARAMETER_ROWS.map((row) => [row.name, row] as const))('%s', (name, row) => {
  it('starts at its default and takes both ends of its range', () => {
    const rig = new Rig({ target_learned: 1 });
    expect(rig.controller.parameter(row.id)).toBe(Math.fround(row.default));
    for (const value of [row.min, row.max, row.default]) {
      expect(rig.set(name, value)).toBe(SET_DONE);
      expect(rig.controller.parameter(row.id)).toBe(Math.fround(value));
    }
  });

  it('refuses what is outside, by however little, and NaN, and stays as it was', () => {
    const rig = new Rig({ target_learned: 1 });
    const refused = [
      beside(row.min, false),
      beside(row.max, true),
      Number.NaN,
      Number.POSITIVE_INFINITY,
      Number.NEGATIVE_INFINITY,
    ];
    if (row.integer) refused.push(0.5, beside(1, false), beside(1, true));
    for (const value of refused) expect(rig.set(name, value), `${value}`).toBe(SET_RANGE);
    expect(rig.controller.parameter(row.id)).toBe(Math.fround(row.default));
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
    const { controller } = new Rig({ target_learned: 1 });
    expect(controller.setParameter(-1, 1)).toBe(SET_UNKNOWN);
    expect(controller.setParameter(PARAMETER_ROWS.length, 1)).toBe(SET_UNKNOWN);
    expect(controller.setParameter(2 ** 31 - 1, 1)).toBe(SET_UNKNOWN);
  });

  const others = PARAMETER_ROWS.filter((row) => row.name !== 'trim_V');
  const refusedAll = (rig: Rig) => {
    for (const row of others) expect(rig.set(row.name, row.max), row.name).toBe(SET_NOT_NOW);
    for (const row of others) expect(rig.controller.parameter(row.id)).toBe(Math.fround(row.default));
  };

  it('does not change while the key is on', () => refusedAll(new Rig({ target_learned: 1 }).ready()));

  it.each(['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold', 'retract'])(
    'does not change in %s, with the key off or on',
    (mode) => {
      const rig = new Rig({ target_learned: 1 }).at(mode);
      refusedAll(rig);
      rig.off(INPUT_KEY).tick();
      refusedAll(rig);
    },
  );

  it('does not change while a fault is latched', () => {
    refusedAll(new Rig({ target_learned: 1 }).at('follow').off(4).until('fault', 'wait').off(INPUT_KEY).run(600));
  });

  it('does not change with voltage at the tap', () => {
    const rig = new Rig({ target_learned: 1 });
    rig.true_V = 40;
    refusedAll(rig.run(16));
  });

  it('trim_V changes at any time, and leads the target at 2 V/s', () => {
    const rig = new Rig({ target_learned: 1 }).at('follow').run(1500);
    const before_V = rig.real(OUTPUT_TARGET_V);
    expect(rig.set('trim_V', 3)).toBe(SET_DONE);
    expect(rig.set('trim_V', 11)).toBe(SET_RANGE);
    rig.run(500);
    // The feed effect is steady here; f32 sums of 0.002 V.
    expect(rig.real(OUTPUT_TARGET_V) - before_V).toBeCloseTo(1, 1);
    rig.run(1500);
    expect(rig.real(OUTPUT_TARGET_V) - before_V).toBeCloseTo(3, 1);
    expect(rig.set('trim_V', -3)).toBe(SET_DONE);
    rig.run(1000);
    expect(rig.real(OUTPUT_TARGET_V) - before_V).toBeCloseTo(1, 1);
  });

  it('that changes makes the box forget what it has learned', () => {
    const rig = new Rig({ feed_effect_V: 12 });
    rig.disturb('base_target_V', 130).disturb('feed_effect_V', 5);
    expect(rig.set('target_V', 110)).toBe(SET_DONE);
    rig.run(1);
    expect(rig.state('base_target_V')).toBe(110);
    expect(rig.state('feed_effect_V')).toBe(12);
  });

  it('survives power-up, which forgets everything else', () => {
    const rig = new Rig({ target_V: 110 }).at('follow');
    rig.controller.powerUp();
    expect(rig.controller.parameter(parameterId('target_V'))).toBe(110);
    rig.tick();
    expect(rig.mode).toBe('rest');
    expect(rig.state('homed') + rig.state('armed')).toBe(0);
  });
});

import { describe, expect, it } from 'vitest';
import { FLAG_ARC_OK, INPUT_SUPPLY_CONTACT } from '../../firmware/wire/layout.gen.js';
import { CUT_V, NO_LOAD_V, Rig } from './rig.js';

/** A rig in strike whose voltage is set by hand; the mean follows at once but for its own 10 ms. */
function struck(parameters: Readonly<Record<string, number>> = {}): Rig {
  const rig = new Rig({ spike_V: 0, strike_ms: 5000, ...parameters }).strike();
  rig.plant = false;
  return rig;
}

const ticksUntil = (rig: Rig, done: () => boolean, most = 2000): number => {
  for (let n = 1; n <= most; n++) if (done.call(rig.tick())) return n;
  return Number.POSITIVE_INFINITY;
};

/** The mean is exact ten readings of ten ticks after the last change. */
const MEAN_TICKS = 10;

describe('arc OK', () => {
  it('comes arc_on_ms after the voltage has come into the window, from above or from below', () => {
    for (const before_V of [0, 260]) {
      const rig = struck({ arc_on_ms: 30 });
      rig.true_V = before_V;
      rig.run(100);
      expect(rig.flag(FLAG_ARC_OK)).toBe(false);
      rig.true_V = CUT_V;
      const ticks = ticksUntil(rig, () => rig.flag(FLAG_ARC_OK));
      expect(ticks).toBeGreaterThanOrEqual(30);
      expect(ticks).toBeLessThanOrEqual(30 + MEAN_TICKS + 4);
    }
  });

  it.each([
    ['below arc_low_V', 50],
    ['above arc_high_V', 260],
  ])('never comes %s', (_, true_V) => {
    const rig = struck();
    rig.true_V = 200;
    rig.run(50);
    rig.true_V = true_V;
    expect(ticksUntil(rig, () => rig.flag(FLAG_ARC_OK), 1000)).toBe(Number.POSITIVE_INFINITY);
  });

  it('goes arc_off_ms after the voltage has left the window upwards, 20 ms after it has left it downwards', () => {
    for (const [true_V, off_ms] of [
      [20, 20],
      [220, 100],
    ] as const) {
      const rig = struck({ arc_on_ms: 30, arc_off_ms: 100, pierce_ms: 5000 });
      rig.true_V = NO_LOAD_V;
      rig.run(50);
      rig.true_V = CUT_V;
      rig.run(100);
      expect(rig.mode).toBe('pierce');
      rig.true_V = true_V;
      const ticks = ticksUntil(rig, () => !rig.flag(FLAG_ARC_OK));
      expect(ticks).toBeGreaterThanOrEqual(off_ms);
      expect(ticks).toBeLessThanOrEqual(off_ms + MEAN_TICKS);
    }
  });

  it('has exact times: the contact is raw, so arc_on_ms and arc_off_ms are met to the tick', () => {
    for (const [arc_on_ms, arc_off_ms] of [
      [7, 13],
      [500, 1],
      [1, 1000],
      [3, 3],
    ] as const) {
      const rig = struck({ arc_on_ms, arc_off_ms, supply_contact: 1, pierce_ms: 5000 });
      rig.true_V = NO_LOAD_V;
      rig.run(50);
      rig.true_V = CUT_V;
      rig.run(50);
      expect(rig.flag(FLAG_ARC_OK)).toBe(false);
      rig.on(INPUT_SUPPLY_CONTACT);
      expect(ticksUntil(rig, () => rig.flag(FLAG_ARC_OK))).toBe(arc_on_ms);
      rig.off(INPUT_SUPPLY_CONTACT);
      expect(ticksUntil(rig, () => !rig.flag(FLAG_ARC_OK))).toBe(arc_off_ms);
    }
  });

  it('is gone 20 ms after a voltage below the window, also where arc_on_ms and arc_off_ms do not divide', () => {
    const rig = new Rig({ arc_on_ms: 7, arc_off_ms: 31 }).at('follow');
    rig.plant = false;
    rig.true_V = 20;
    const full = rig.state('arc_count');
    while (rig.state('arc_count') === full) rig.tick();
    expect(1 + ticksUntil(rig, () => !rig.flag(FLAG_ARC_OK))).toBe(20);
  });

  it('survives a voltage above the window for less than arc_off_ms', () => {
    const rig = struck({ arc_off_ms: 100, pierce_ms: 5000 });
    rig.true_V = NO_LOAD_V;
    rig.run(50);
    rig.true_V = CUT_V;
    rig.run(100);
    rig.true_V = 220;
    rig.run(90);
    rig.true_V = CUT_V;
    rig.run(500, () => expect(rig.flag(FLAG_ARC_OK)).toBe(true));
  });

  it('is forgotten when the trigger goes off', () => {
    const rig = new Rig().at('retract').run(1);
    for (const name of ['arc_ok', 'arc_count', 'proved', 'verdict', 'fired_ms', 'voltage_seen'])
      expect(rig.state(name), name).toBe(0);
  });
});

describe('voltage although the trigger is off', () => {
  const fallen = (rig: Rig, V: number) => {
    rig.plant = false;
    rig.true_V = V;
    return rig;
  };

  it('at rest is a fault with latched stop: a hand on the trigger', () => {
    const rig = new Rig({ fall_ms: 500 }).ready();
    rig.run(600);
    fallen(rig, 140);
    const ticks = ticksUntil(rig, () => rig.fault === 'voltage-at-rest', 100);
    // Spike rejection 4 ms, mean 10 ms, twenty ticks that make it voltage and no disturbance.
    expect(ticks).toBeLessThanOrEqual(4 + MEAN_TICKS + 20);
    expect(rig.latched).toBe(true);
    expect(rig.trigger).toBe(false);
  });

  it('after a cut is a fault with latched stop once fall_ms is over: a welded contact', () => {
    const rig = new Rig({ fall_ms: 500 }).at('follow');
    rig.plant = false;
    rig.off(2);
    const ticks = ticksUntil(rig, () => rig.fault === 'voltage-at-rest');
    expect(ticks).toBeGreaterThanOrEqual(500);
    expect(ticks).toBeLessThanOrEqual(500 + 21);
    expect(rig.latched).toBe(true);
    expect(rig.z_steps).toBe(0);
  });

  it('replaces another fault, because it is the graver one', () => {
    const rig = new Rig().at('follow');
    rig.off(16).run(10);
    expect(rig.fault).toBe('breakaway');
    rig.plant = false;
    rig.true_V = 140;
    rig.run(600);
    expect(rig.fault).toBe('voltage-at-rest');
    expect(rig.latched).toBe(true);
  });

  it('for less than twenty ticks is a disturbance', () => {
    const rig = new Rig({ spike_V: 0 }).ready();
    rig.run(600);
    for (let i = 0; i < 20; i++) {
      fallen(rig, 140).run(10);
      fallen(rig, 0).run(20);
    }
    expect(rig.fault).toBe('none');
  });
});

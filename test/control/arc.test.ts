import { describe, expect, it } from 'vitest';
import { FLAG_ARC_OK, INPUT_SUPPLY_CONTACT } from '../../firmware/wire/layout.gen.js';
import { CUT_V, Desk, NO_LOAD_V } from './bench.js';

/** A desk in strike whose voltage is set by hand; the mean follows at once but for its own 10 ms. */
function struck(parameters: Readonly<Record<string, number>> = {}): Desk {
  const desk = new Desk({ spike_V: 0, strike_ms: 5000, ...parameters }).strike();
  desk.plant = false;
  return desk;
}

const ticksUntil = (desk: Desk, done: () => boolean, most = 2000): number => {
  for (let n = 1; n <= most; n++) if (done.call(desk.tick())) return n;
  return Number.POSITIVE_INFINITY;
};

/** The mean is exact ten readings of ten ticks after the last change. */
const MEAN_TICKS = 10;

describe('arc OK', () => {
  it('comes arc_on_ms after the voltage has fallen from above transfer_V into the window', () => {
    const desk = struck({ arc_on_ms: 30 });
    desk.true_V = NO_LOAD_V;
    desk.run(100);
    expect(desk.flag(FLAG_ARC_OK)).toBe(false);
    desk.true_V = CUT_V;
    const ticks = ticksUntil(desk, () => desk.flag(FLAG_ARC_OK));
    // The mean of 145 V and 118 V passes 136 V after a third of its 10 ms.
    expect(ticks).toBeGreaterThanOrEqual(30);
    expect(ticks).toBeLessThanOrEqual(30 + MEAN_TICKS);
  });

  it('never comes while the voltage stays above transfer_V, though inside the window', () => {
    const desk = struck();
    desk.true_V = NO_LOAD_V;
    expect(ticksUntil(desk, () => desk.flag(FLAG_ARC_OK), 1000)).toBe(Number.POSITIVE_INFINITY);
  });

  it('never comes when the voltage rises into the window without a no-load voltage before it', () => {
    const desk = struck();
    desk.true_V = CUT_V;
    expect(ticksUntil(desk, () => desk.flag(FLAG_ARC_OK), 1000)).toBe(Number.POSITIVE_INFINITY);
  });

  it.each([
    ['below arc_low_V', 50],
    ['above arc_high_V', 260],
  ])('never comes %s', (_, true_V) => {
    const desk = struck({ transfer_V: 190 });
    desk.true_V = 200;
    desk.run(50);
    desk.true_V = true_V;
    expect(ticksUntil(desk, () => desk.flag(FLAG_ARC_OK), 1000)).toBe(Number.POSITIVE_INFINITY);
  });

  it('goes arc_off_ms after the voltage has left the window, upwards or downwards', () => {
    for (const true_V of [20, 220]) {
      const desk = struck({ arc_on_ms: 30, arc_off_ms: 100, pierce_ms: 5000 });
      desk.true_V = NO_LOAD_V;
      desk.run(50);
      desk.true_V = CUT_V;
      desk.run(100);
      expect(desk.mode).toBe('pierce');
      desk.true_V = true_V;
      const ticks = ticksUntil(desk, () => !desk.flag(FLAG_ARC_OK));
      expect(ticks).toBeGreaterThanOrEqual(100);
      expect(ticks).toBeLessThanOrEqual(100 + MEAN_TICKS);
    }
  });

  it('has exact times: the contact is raw, so arc_on_ms and arc_off_ms are met to the tick', () => {
    for (const [arc_on_ms, arc_off_ms] of [
      [7, 13],
      [500, 1],
      [1, 1000],
      [3, 3],
    ] as const) {
      const desk = struck({ arc_on_ms, arc_off_ms, supply_contact: 1, pierce_ms: 5000 });
      desk.true_V = NO_LOAD_V;
      desk.run(50);
      desk.true_V = CUT_V;
      desk.run(50);
      expect(desk.flag(FLAG_ARC_OK)).toBe(false);
      desk.on(INPUT_SUPPLY_CONTACT);
      expect(ticksUntil(desk, () => desk.flag(FLAG_ARC_OK))).toBe(arc_on_ms);
      desk.off(INPUT_SUPPLY_CONTACT);
      expect(ticksUntil(desk, () => !desk.flag(FLAG_ARC_OK))).toBe(arc_off_ms);
    }
  });

  it('survives a kerf crossing above transfer_V shorter than arc_off_ms', () => {
    const desk = struck({ arc_off_ms: 100, pierce_ms: 5000 });
    desk.true_V = NO_LOAD_V;
    desk.run(50);
    desk.true_V = CUT_V;
    desk.run(100);
    desk.true_V = 220;
    desk.run(90);
    desk.true_V = CUT_V;
    desk.run(500, () => expect(desk.flag(FLAG_ARC_OK)).toBe(true));
  });

  it('is forgotten when the trigger goes off', () => {
    const desk = new Desk().at('retract').run(1);
    for (const name of ['arc_ok', 'arc_count', 'no_load_seen', 'voltage_seen']) expect(desk.state(name), name).toBe(0);
  });
});

describe('voltage although the trigger is off', () => {
  const fallen = (desk: Desk, V: number) => {
    desk.plant = false;
    desk.true_V = V;
    return desk;
  };

  it('at rest is a fault with latched stop: a hand on the trigger', () => {
    const desk = new Desk({ fall_ms: 500 }).ready();
    desk.run(600);
    fallen(desk, 140);
    const ticks = ticksUntil(desk, () => desk.fault === 'voltage-at-rest', 100);
    // Spike rejection 4 ms, mean 10 ms, twenty ticks that make it voltage and no disturbance.
    expect(ticks).toBeLessThanOrEqual(4 + MEAN_TICKS + 20);
    expect(desk.latched).toBe(true);
    expect(desk.trigger).toBe(false);
  });

  it('after a cut is a fault with latched stop once fall_ms is over: a welded contact', () => {
    const desk = new Desk({ fall_ms: 500 }).at('follow');
    desk.plant = false;
    desk.off(2);
    const ticks = ticksUntil(desk, () => desk.fault === 'voltage-at-rest');
    expect(ticks).toBeGreaterThanOrEqual(500);
    expect(ticks).toBeLessThanOrEqual(500 + 21);
    expect(desk.latched).toBe(true);
    expect(desk.z_steps).toBe(0);
  });

  it('replaces another fault, because it is the graver one', () => {
    const desk = new Desk().at('follow');
    desk.off(16).run(10);
    expect(desk.fault).toBe('breakaway');
    desk.plant = false;
    desk.true_V = 140;
    desk.run(600);
    expect(desk.fault).toBe('voltage-at-rest');
    expect(desk.latched).toBe(true);
  });

  it('for less than twenty ticks is a disturbance', () => {
    const desk = new Desk({ spike_V: 0 }).ready();
    desk.run(600);
    for (let i = 0; i < 20; i++) {
      fallen(desk, 140).run(10);
      fallen(desk, 0).run(20);
    }
    expect(desk.fault).toBe('none');
  });
});

import { describe, expect, it } from 'vitest';
import { CUT_V, NO_LOAD_V, Rig } from './rig.js';

const NO_CROSSING = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0, wrong_way_mm: 5, floor_allowance_mm: 5 };

/** Every change of the trigger until the box is in fault. */
function strikesUntilFault(rig: Rig): number {
  let strikes = 0;
  let was = false;
  for (let i = 0; i < 60_000 && rig.mode !== 'fault'; i++) {
    rig.tick();
    if (rig.trigger && !was) strikes++;
    was = rig.trigger;
  }
  return strikes;
}

/** A plant whose supply stays at no load, above the arc window. */
function unlit(parameters: Readonly<Record<string, number>>): Rig {
  const rig = new Rig(parameters).ready();
  rig.extra_V = 250 - CUT_V;
  rig.plant = true;
  return rig.on(2);
}

describe('a strike', () => {
  it.each([0, 1, 2, 5])('that makes no arc is tried again strike_retries = %i times, then it is a fault', (retries) => {
    const rig = unlit({ strike_retries: retries, strike_ms: 300 });
    expect(strikesUntilFault(rig)).toBe(retries + 1);
    expect(rig.fault).toBe('no-arc');
    rig.until('fault', 'wait');
    expect(rig.z_mm).toBeCloseTo(0, 6);
  });

  it('lasts strike_ms', () => {
    const rig = unlit({ strike_ms: 300 }).until('strike');
    const from = rig.ticks;
    while (rig.trigger) rig.tick();
    expect(rig.ticks - from).toBe(300);
  });

  it('waits between two attempts until the voltage has fallen', () => {
    const rig = unlit({ strike_ms: 300 }).until('strike', 'fall');
    rig.plant = false;
    rig.true_V = NO_LOAD_V;
    rig.run(400, () => expect(rig.stage).toBe('fall'));
    rig.plant = true;
    while (!rig.trigger) rig.tick();
    expect(rig.mode).toBe('strike');
  });

  it('whose voltage does not fall afterwards is a welded contact', () => {
    const rig = unlit({ strike_ms: 300 }).until('strike', 'fall');
    rig.plant = false;
    rig.true_V = NO_LOAD_V;
    rig.run(600);
    expect(rig.fault).toBe('voltage-at-rest');
    expect(rig.latched).toBe(true);
  });

  it('without any voltage at all is a fault at once: the sensing lead is open', () => {
    const rig = new Rig({ strike_ms: 300 });
    rig.arc_burns = false;
    expect(strikesUntilFault(rig.strike())).toBe(1);
    expect(rig.fault).toBe('no-voltage');
  });

  it('with voltage below the arc window is tried again: the lead is not open', () => {
    const rig = new Rig({ strike_ms: 300 }).strike();
    rig.plant = false;
    rig.true_V = 40;
    expect(rig.run(310)).toMatchObject({ mode: 'strike', stage: 'fall', fault: 'none' });
  });

  it.each(['pierce', 'lower'])('whose arc is lost in %s is tried again, for the permit was never given', (mode) => {
    const rig = new Rig({ pierce_ms: 400, arc_off_ms: 5, z_velocity_mm_s: 15 }).at(mode);
    rig.arc_burns = false;
    const from = rig.ticks;
    while (rig.trigger) rig.tick();
    // Spike rejection 4 ms, moving mean 10 ms, arc_off_ms, and a tick or two of noise in the readings.
    expect(rig.ticks - from).toBeLessThanOrEqual(21);
    rig.arc_burns = true;
    rig.until('settle');
    expect(rig.state('strikes')).toBe(2);
    expect(rig.standoff_mm).toBeCloseTo(1.5, 1);
  });
});

describe('a voltage that leaves the arc window after the proof', () => {
  const inLower = (parameters = {}) => new Rig({ pierce_ms: 400, z_velocity_mm_s: 15, ...parameters }).at('lower');

  it.each([
    ['above', 100],
    ['below', -100],
  ])('%s it gives no motion permit, though it comes back: the strike is tried again', (_, extra_V) => {
    const rig = inLower({ arc_off_ms: 300 });
    rig.extra_V = extra_V;
    rig.run(20);
    rig.extra_V = 0;
    while (rig.trigger) {
      expect(rig.permit).toBe(false);
      rig.tick();
    }
    expect([rig.mode, rig.stage]).toEqual(['strike', 'fall']);
    rig.until('settle');
    expect(rig.state('strikes')).toBe(2);
    expect(rig.standoff_mm).toBeCloseTo(1.5, 1);
  });

  it('below the window gives no motion permit either: the debounce decides', () => {
    const rig = new Rig({ pierce_ms: 400, z_velocity_mm_s: 15, arc_off_ms: 300 }).at('lower');
    rig.arc_burns = false;
    const from = rig.ticks;
    while (rig.trigger) {
      expect(rig.permit).toBe(false);
      rig.tick();
    }
    // 20 ms below the window, and what the mean takes to get there.
    expect(rig.ticks - from).toBeGreaterThanOrEqual(20);
    expect([rig.mode, rig.stage]).toEqual(['strike', 'fall']);
  });

  it('is a fault when no attempt is left', () => {
    const rig = inLower({ strike_retries: 0 });
    rig.extra_V = 100;
    rig.until('fault');
    expect(rig.fault).toBe('no-arc');
  });
});

describe('an arc that is lost once the permit was given', () => {
  it.each(['settle', 'follow', 'hold'])('in %s is never struck again', (mode) => {
    const rig = new Rig().at(mode);
    rig.arc_burns = false;
    rig.until('fault');
    expect(rig.fault).toBe('no-voltage');
    expect(rig.trigger || rig.permit).toBe(false);
    rig.x_steps = 0;
    let fired = false;
    rig.run(5000, () => {
      fired ||= rig.trigger;
    });
    expect(fired).toBe(false);
  });

  it.each(['settle', 'follow', 'hold'])('in %s with a voltage beside the window is an arc lost', (mode) => {
    const rig = new Rig().at(mode);
    rig.extra_V = 120;
    rig.until('fault');
    expect(rig.fault).toBe('arc-lost');
  });

  it('withdraws the permit within arc_off_ms and the mean', () => {
    const rig = new Rig({ arc_off_ms: 100 }).at('follow');
    rig.arc_burns = false;
    const from = rig.ticks;
    while (rig.permit) rig.tick();
    // Rejection of a spike 4 ms, moving mean 10 ms.
    expect(rig.ticks - from).toBeLessThanOrEqual(100 + 14);
  });

  it('stands still while the voltage is below the window and the debounce decides', () => {
    const rig = new Rig({ arc_off_ms: 200 }).at('follow');
    rig.arc_burns = false;
    rig.run(12);
    rig.run(4, () => expect(rig.z_steps).toBe(0));
    rig.arc_burns = true;
    rig.run(400);
    expect(rig.mode).not.toBe('fault');
  });

  it('stands still in follow while the voltage is above the window, and comes back without a jump', () => {
    const rig = new Rig({ ...NO_CROSSING, arc_off_ms: 200 }).at('follow').run(500);
    const standoff_mm = rig.standoff_mm;
    rig.extra_V = 102;
    // Spike rejection 4 ms, moving mean 10 ms, the ramp from 10 mm/s at 1500 mm/s² 7 ms.
    rig.run(21);
    rig.run(150, () => expect(rig.z_steps).toBe(0));
    rig.extra_V = 0;
    // On its way out and back the mean is inside the window for 7 ms each, at 10 mm/s, with a ramp of 0.03 mm each and
    // what the integral gathers; the 150 ms between them would be 1.5 mm.
    let off_mm = 0;
    rig.run(600, () => {
      off_mm = Math.max(off_mm, Math.abs(rig.standoff_mm - standoff_mm));
    });
    expect(off_mm).toBeLessThan(0.4);
    expect(rig.mode).toBe('follow');
  });

  it.each(['settle', 'hold'])(
    'does not go down along the slope in %s while the voltage is above the window',
    (mode) => {
      const settle_ms = mode === 'settle' ? 2000 : 40;
      const rig = new Rig({ ...NO_CROSSING, arc_off_ms: 200, settle_ms, feed_effect_V: 0 })
        .at(mode)
        .disturb('slope_x', -0.1);
      const z_mm = rig.z_mm;
      rig.run(50);
      expect(rig.z_mm).toBeLessThan(z_mm);
      rig.extra_V = 102;
      rig.run(21);
      rig.run(100, () => expect(rig.z_steps).toBe(0));
      expect(rig.mode).toBe(mode);
    },
  );

  it('rises to where Z was taken over after the voltage has fallen, and hands Z back', () => {
    const rig = new Rig().at('follow');
    rig.arc_burns = false;
    rig.until('fault');
    rig.x_steps = 0;
    rig.until('fault', 'wait');
    expect(rig.z_mm).toBeCloseTo(0, 6);
    expect(rig.owned).toBe(false);
    expect(rig.state('homed')).toBe(1);
  });
});

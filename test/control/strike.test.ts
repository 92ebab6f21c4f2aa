import { describe, expect, it } from 'vitest';
import { CUT_V, Desk, NO_LOAD_V } from './bench.js';

const NO_CROSSING = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0, wrong_way_mm: 5, floor_allowance_mm: 5 };

/** Every change of the trigger until the box is in fault. */
function strikesUntilFault(desk: Desk): number {
  let strikes = 0;
  let was = false;
  for (let i = 0; i < 60_000 && desk.mode !== 'fault'; i++) {
    desk.tick();
    if (desk.trigger && !was) strikes++;
    was = desk.trigger;
  }
  return strikes;
}

/** A plant whose pilot strikes but whose arc never transfers. */
function pilotOnly(parameters: Readonly<Record<string, number>>): Desk {
  const desk = new Desk(parameters).ready();
  desk.extra_V = NO_LOAD_V - CUT_V;
  desk.plant = true;
  return desk.on(2);
}

describe('a strike', () => {
  it.each([0, 1, 2, 5])('that makes no arc is tried again strike_retries = %i times, then it is a fault', (retries) => {
    const desk = pilotOnly({ strike_retries: retries, strike_ms: 300 });
    expect(strikesUntilFault(desk)).toBe(retries + 1);
    expect(desk.fault).toBe('no-arc');
    desk.until('fault', 'wait');
    expect(desk.z_mm).toBeCloseTo(0, 6);
  });

  it('lasts strike_ms', () => {
    const desk = pilotOnly({ strike_ms: 300 }).until('strike');
    const from = desk.ticks;
    while (desk.trigger) desk.tick();
    expect(desk.ticks - from).toBe(300);
  });

  it('waits between two attempts until the voltage has fallen', () => {
    const desk = pilotOnly({ strike_ms: 300 }).until('strike', 'fall');
    desk.plant = false;
    desk.true_V = NO_LOAD_V;
    desk.run(400, () => expect(desk.stage).toBe('fall'));
    desk.plant = true;
    while (!desk.trigger) desk.tick();
    expect(desk.mode).toBe('strike');
  });

  it('whose voltage does not fall afterwards is a welded contact', () => {
    const desk = pilotOnly({ strike_ms: 300 }).until('strike', 'fall');
    desk.plant = false;
    desk.true_V = NO_LOAD_V;
    desk.run(600);
    expect(desk.fault).toBe('voltage-at-rest');
    expect(desk.latched).toBe(true);
  });

  it('without any voltage at all is a fault at once: the sensing lead is open', () => {
    const desk = new Desk({ strike_ms: 300 });
    desk.arc_burns = false;
    expect(strikesUntilFault(desk.strike())).toBe(1);
    expect(desk.fault).toBe('no-voltage');
  });

  it.each(['pierce', 'lower'])('whose arc is lost in %s is tried again, for the permit was never given', (mode) => {
    const desk = new Desk({ pierce_ms: 400, arc_off_ms: 5, z_velocity_mm_s: 15 }).at(mode);
    desk.arc_burns = false;
    const from = desk.ticks;
    while (desk.trigger) desk.tick();
    // Spike rejection 4 ms, moving mean 10 ms, arc_off_ms, and a tick or two of noise in the readings.
    expect(desk.ticks - from).toBeLessThanOrEqual(21);
    desk.arc_burns = true;
    desk.until('settle');
    expect(desk.state('strikes')).toBe(2);
    expect(desk.standoff_mm).toBeCloseTo(1.5, 1);
  });
});

describe('a voltage that has passed for an arc and turns out to be the pilot', () => {
  /** The pilot voltage comes back in `lower`: a sensing lead that dropped out for a moment had made an arc of it. */
  function pilotInLower(): Desk {
    const desk = new Desk({ pierce_ms: 400, z_velocity_mm_s: 15 }).at('lower');
    desk.extra_V = NO_LOAD_V - CUT_V;
    return desk;
  }

  it('gives no motion permit: the strike is tried again', () => {
    const desk = pilotInLower();
    while (desk.trigger) {
      expect(desk.permit).toBe(false);
      desk.tick();
    }
    expect([desk.mode, desk.stage]).toEqual(['strike', 'fall']);
    desk.extra_V = 0;
    desk.until('settle');
    expect(desk.state('strikes')).toBe(2);
    expect(desk.standoff_mm).toBeCloseTo(1.5, 1);
  });

  it('below the window gives no motion permit either: the debounce decides', () => {
    const desk = new Desk({ pierce_ms: 400, z_velocity_mm_s: 15, arc_off_ms: 300 }).at('lower');
    desk.arc_burns = false;
    const from = desk.ticks;
    while (desk.trigger) {
      expect(desk.permit).toBe(false);
      desk.tick();
    }
    expect(desk.ticks - from).toBeGreaterThanOrEqual(300);
    expect([desk.mode, desk.stage]).toEqual(['strike', 'fall']);
  });

  it('is a fault when no attempt is left', () => {
    const desk = pilotInLower();
    for (let i = 0; i < 20_000 && desk.mode !== 'fault'; i++) {
      desk.tick();
      expect(desk.permit).toBe(false);
    }
    expect(desk.fault).toBe('no-arc');
  });
});

describe('an arc that is lost once the permit was given', () => {
  it.each(['settle', 'follow', 'hold'])('in %s is never struck again', (mode) => {
    const desk = new Desk().at(mode);
    desk.arc_burns = false;
    desk.until('fault');
    expect(desk.fault).toBe('no-voltage');
    expect(desk.trigger || desk.permit).toBe(false);
    desk.x_steps = 0;
    let fired = false;
    desk.run(5000, () => {
      fired ||= desk.trigger;
    });
    expect(fired).toBe(false);
  });

  it.each(['settle', 'follow', 'hold'])('in %s with a voltage beside the window is an arc lost', (mode) => {
    const desk = new Desk().at(mode);
    desk.extra_V = 120;
    desk.until('fault');
    expect(desk.fault).toBe('arc-lost');
  });

  it('withdraws the permit within arc_off_ms and the mean', () => {
    const desk = new Desk({ arc_off_ms: 100 }).at('follow');
    desk.arc_burns = false;
    const from = desk.ticks;
    while (desk.permit) desk.tick();
    // Rejection of a spike 4 ms, moving mean 10 ms.
    expect(desk.ticks - from).toBeLessThanOrEqual(100 + 14);
  });

  it('stands still while the voltage is below the window and the debounce decides', () => {
    const desk = new Desk({ arc_off_ms: 200 }).at('follow');
    desk.arc_burns = false;
    desk.run(40);
    desk.run(120, () => expect(desk.z_steps).toBe(0));
    desk.arc_burns = true;
    desk.run(400);
    expect(desk.mode).not.toBe('fault');
  });

  it('stands still in follow while the voltage is above the window, and comes back without a jump', () => {
    const desk = new Desk({ ...NO_CROSSING, arc_off_ms: 200 }).at('follow').run(500);
    const standoff_mm = desk.standoff_mm;
    desk.extra_V = 102;
    // Spike rejection 4 ms, moving mean 10 ms, the ramp from 10 mm/s at 1500 mm/s² 7 ms.
    desk.run(21);
    desk.run(150, () => expect(desk.z_steps).toBe(0));
    desk.extra_V = 0;
    // On its way out and back the mean is inside the window for 7 ms each, at 10 mm/s, with a ramp of 0.03 mm each and
    // what the integral gathers; the 150 ms between them would be 1.5 mm.
    let off_mm = 0;
    desk.run(600, () => {
      off_mm = Math.max(off_mm, Math.abs(desk.standoff_mm - standoff_mm));
    });
    expect(off_mm).toBeLessThan(0.4);
    expect(desk.mode).toBe('follow');
  });

  it.each(['settle', 'hold'])(
    'does not go down along the slope in %s while the voltage is above the window',
    (mode) => {
      const settle_ms = mode === 'settle' ? 2000 : 40;
      const desk = new Desk({ ...NO_CROSSING, arc_off_ms: 200, settle_ms }).at(mode).disturb('slope_x', -0.1);
      const z_mm = desk.z_mm;
      desk.run(50);
      expect(desk.z_mm).toBeLessThan(z_mm);
      desk.extra_V = 102;
      desk.run(21);
      desk.run(100, () => expect(desk.z_steps).toBe(0));
      expect(desk.mode).toBe(mode);
    },
  );

  it('rises to where Z was taken over after the voltage has fallen, and hands Z back', () => {
    const desk = new Desk().at('follow');
    desk.arc_burns = false;
    desk.until('fault');
    desk.x_steps = 0;
    desk.until('fault', 'wait');
    expect(desk.z_mm).toBeCloseTo(0, 6);
    expect(desk.owned).toBe(false);
    expect(desk.state('homed')).toBe(1);
  });
});

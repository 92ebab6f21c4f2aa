import { describe, expect, it } from 'vitest';
import { INPUT_SUPPLY_CONTACT, OUTPUT_PROOF_SLOPE_V_PER_MM, STROKE_UM } from '../../firmware/wire/layout.gen.js';
import { Random } from '../../sim/base/index.js';
import { CUT_V, NO_LOAD_V, Rig } from './rig.js';

const PIERCE_MM = 3;
/** The column proof_slope_V_per_mm of a recorded run. */
const slopeOf = (rig: Rig) => rig.real(OUTPUT_PROOF_SLOPE_V_PER_MM);

/** A box in pierce over a voltage that answers so, before the first stroke. */
function striking(slope_V_per_mm: number, parameters: Readonly<Record<string, number>> = {}): Rig {
  const rig = new Rig(parameters);
  rig.slope_V_per_mm = slope_V_per_mm;
  return rig.strike().until('pierce');
}

/** Runs to the permit, the fault, or the end of the strike. */
function outcome(rig: Rig, each: () => void = () => {}): string {
  for (let tick = 0; tick < 10_000; tick++) {
    if (rig.mode === 'settle') return 'permit';
    if (rig.mode === 'fault') return rig.fault;
    if (!rig.trigger) return 'again';
    each();
    rig.tick();
  }
  return 'never';
}

describe('the strokes of the proof', () => {
  it.each([
    ['the default axis', {}],
    ['a slow one', { z_velocity_mm_s: 12, z_acceleration_mm_s2: 300 }],
    ['few steps a millimetre', { z_steps_per_mm: 20 }],
    ['a fast one', { z_velocity_mm_s: 100, z_acceleration_mm_s2: 10_000 }],
  ])('lead upwards from pierce height and back, never below it: %s', (_, parameters) => {
    const rig = striking(4, parameters);
    let [lowest, highest] = [9, 0];
    const said = outcome(rig, () => {
      if (rig.mode !== 'pierce') return;
      lowest = Math.min(lowest, rig.standoff_mm);
      highest = Math.max(highest, rig.standoff_mm);
    });
    expect(said).toBe('permit');
    const step_mm = 1 / (parameters as { z_steps_per_mm?: number }).z_steps_per_mm! || 1 / 400;
    expect(lowest).toBeGreaterThan(PIERCE_MM - step_mm - 0.02);
    expect(highest).toBeLessThanOrEqual(PIERCE_MM + STROKE_UM / 1000 + step_mm);
    expect(highest).toBeGreaterThan(PIERCE_MM + 0.85 * (STROKE_UM / 1000));
  });

  it('take about 130 ms each with the default axis, three for a quiet arc', () => {
    const rig = striking(4, { pierce_ms: 0 });
    const from = rig.ticks;
    rig.until('lower');
    expect(rig.ticks - from).toBeGreaterThan(3 * 115);
    expect(rig.ticks - from).toBeLessThan(3 * 145);
  });

  it('have room above: a sheet so near that they have none is a fault', () => {
    const rig = new Rig().ready();
    rig.sheet_mm = -PIERCE_MM - 1;
    rig.plant = true;
    rig.on(2).until('fault');
    expect(rig.fault).toBe('travel');
  });
});

describe('a voltage that answers', () => {
  it.each([2, 4, 8])('with %f V/mm is an arc, and its slope is told within 2 %', (slope) => {
    const rig = striking(slope);
    expect(outcome(rig)).toBe('permit');
    expect(slopeOf(rig) / slope).toBeGreaterThan(0.98);
    expect(slopeOf(rig) / slope).toBeLessThan(1.02);
  });

  it.each([50, 60])('is timed as the mean delays it, at %i Hz', (mains_Hz) => {
    // A stroke is 8 half periods long; a delay that is forgotten would show as 4 % less.
    const rig = striking(6, { mains_Hz });
    expect(outcome(rig)).toBe('permit');
    expect(Math.abs(slopeOf(rig) / 6 - 1)).toBeLessThan(0.012);
  });

  it.each([80, 120, 190])('needs no level: from a worn electrode or a short arc, %i V', (volts) => {
    const rig = new Rig({ arc_high_V: 220 });
    rig.extra_V = volts - CUT_V;
    expect(outcome(rig.strike())).toBe('permit');
  });

  it.each([-3, -6])('with the wrong sign, %f V/mm, is refused at once: Z or the sensing is reversed', (slope) => {
    const rig = striking(slope);
    expect(outcome(rig)).toBe('no-response');
    expect(rig.state('strikes')).toBe(0);
    expect(slopeOf(rig)).toBeLessThan(0);
  });

  it('is told again at each strike', () => {
    const rig = striking(4);
    expect(outcome(rig)).toBe('permit');
    rig.off(2).until('rest').run(600);
    rig.arc_burns = true;
    rig.on(2).until('strike');
    expect(slopeOf(rig)).toBe(0);
  });
});

describe('a voltage that does not answer', () => {
  it.each([110, 120, 134, 150])(
    'is a pilot of %i V: never a permit, a strike for each attempt, then its fault',
    (pilot_V) => {
      const rig = new Rig({ strike_retries: 2 });
      rig.slope_V_per_mm = 0;
      rig.extra_V = pilot_V - CUT_V;
      rig.strike();
      let strikes = 0;
      let was = false;
      for (let tick = 0; tick < 20_000 && rig.mode !== 'fault'; tick++) {
        if (rig.trigger && !was) strikes++;
        was = rig.trigger;
        expect(rig.permit).toBe(false);
        rig.tick();
      }
      expect(strikes).toBe(3);
      expect(rig.fault).toBe('no-response');
    },
  );

  it('may transfer as long as a strike may wait, and the dwell is the arc’s', () => {
    const rig = new Rig({ pierce_ms: 500 });
    rig.slope_V_per_mm = 0;
    rig.extra_V = 20;
    rig.strike().run(900);
    expect(rig.trigger).toBe(true);
    rig.slope_V_per_mm = 4;
    rig.extra_V = 0;
    const from = rig.ticks;
    rig.until('lower');
    expect(rig.ticks - from).toBeGreaterThanOrEqual(500);
    expect(rig.ticks - from).toBeLessThan(1000);
  });

  it('in one stroke of them is no proof yet, however well the others answer', () => {
    // A transfer that no jump tells: the voltage is the same before and after it at pierce height.
    const rig = new Rig({ pierce_ms: 0 });
    rig.slope_V_per_mm = 0;
    rig.extra_V = 6;
    rig.strike().until('pierce').until('pierce', 'over').until('pierce', 'down').until('pierce', 'up');
    rig.slope_V_per_mm = 4;
    rig.extra_V = 0;
    const from = rig.ticks;
    rig.until('lower');
    expect(rig.ticks - from).toBeGreaterThan(3 * 115);
  });

  it('after a proof, when it comes back into the window, is asked again', () => {
    const rig = striking(4, { pierce_ms: 3000 });
    rig.until('pierce', 'none').run(100);
    rig.extra_V = 100;
    rig.run(30);
    rig.slope_V_per_mm = 0;
    rig.extra_V = 6;
    expect(outcome(rig)).not.toBe('permit');
  });

  it('but answered in the strike before is no arc', () => {
    const rig = striking(4);
    rig.until('pierce', 'none');
    expect(rig.state('proved')).toBe(1);
    rig.arc_burns = false;
    rig.until('strike', 'fall');
    rig.arc_burns = true;
    rig.slope_V_per_mm = 0;
    let permit = false;
    rig.run(3000, () => {
      permit ||= rig.permit;
    });
    expect(permit).toBe(false);
  });
});

describe('a voltage that is not quiet', () => {
  /** Noise from tick to tick, and jumps of so many volts at so many ticks. */
  function noisy(rig: Rig, noise_V: number, jump_V: number, every_ms: number, seed: number): () => void {
    const random = new Random(seed, 1);
    let jumped_V = 0;
    return () => {
      if (jump_V > 0 && random.uniform() < 1 / every_ms) jumped_V = jumped_V === 0 ? jump_V : 0;
      rig.extra_V = jumped_V + noise_V * (random.uniform() + random.uniform() + random.uniform() - 1.5) * 2;
    };
  }

  it('is refused at the end: an arc must not burn on one spot until it is quiet', () => {
    const rig = striking(0.8, { pierce_ms: 0 });
    const from = rig.ticks;
    const said = outcome(rig, noisy(rig, 2, 20, 150, 3));
    expect(['no-response', 'again']).toContain(said);
    // strike_ms, 300 ms in which a proof may begin again, six strokes.
    expect(rig.ticks - from).toBeLessThan(1500 + 300 + 6 * 145);
  });

  it('gives no permit over a pilot with jumps', () => {
    for (let seed = 1; seed <= 40; seed++) {
      const rig = striking(0);
      expect(outcome(rig, noisy(rig, 1, 10, 300, seed)), `seed ${seed}`).not.toBe('permit');
    }
  });

  it('takes longer, and more strokes, where there is much noise', () => {
    const rig = striking(2.5, { pierce_ms: 0 });
    const from = rig.ticks;
    expect(outcome(rig, noisy(rig, 4, 0, 1, 5))).toBe('permit');
    expect(rig.ticks - from).toBeGreaterThan(4 * 115);
  });
});

describe('beside the supply’s own contact', () => {
  it('two strokes are enough, and both must agree', () => {
    const rig = new Rig({ supply_contact: 1, pierce_ms: 0 }).strike().run(100);
    expect(rig.mode).toBe('strike');
    rig.on(INPUT_SUPPLY_CONTACT).until('pierce');
    const from = rig.ticks;
    rig.until('lower');
    expect(rig.ticks - from).toBeLessThan(3 * 115);
    const still = new Rig({ supply_contact: 1 }).on(INPUT_SUPPLY_CONTACT);
    still.slope_V_per_mm = 0;
    still.extra_V = NO_LOAD_V - CUT_V;
    expect(outcome(still.strike())).toBe('again');
  });
});

describe('a noisy voltage', () => {
  /** Noise, and a response that is there in some strokes only; every tick. */
  function noisy(seed: number): readonly [said: string, slope_V_per_mm: number] {
    const random = new Random(seed, 99);
    const slope = [0, 1, 1.5, 3, 5, 8][seed % 6];
    const rms_V = [0.1, 0.5, 2, 4, 7][Math.floor(seed / 6) % 5];
    // In some each stroke answers with a share of its own, in some the voltage swings.
    const uneven = seed % 4 === 3;
    const swing_V = seed % 7 === 0 ? 4.5 : 0;
    const rig = striking(slope);
    let slow_V = 0;
    let share = 1;
    let before_mm = 0;
    const said = outcome(rig, () => {
      slow_V += (random.gaussian() * rms_V - slow_V) * 0.05;
      const high_mm = Math.max(0, rig.standoff_mm - PIERCE_MM);
      if (uneven && before_mm < 0.01 && high_mm >= 0.01) share = random.between(0.3, 1.1);
      before_mm = high_mm;
      const swing = swing_V * Math.sin((2 * Math.PI * 13 * rig.ticks) / 1000);
      rig.extra_V = slow_V + random.gaussian() * rms_V + swing - (1 - share) * slope * high_mm;
    });
    return [said, slope];
  }

  it('is permitted, refused or struck again in the end, and never permitted without any response', () => {
    const said = Array.from({ length: 240 }, (_, seed) => noisy(seed));
    for (const [what, slope] of said) {
      expect(['permit', 'no-response', 'no-arc', 'arc-lost', 'again']).toContain(what);
      if (slope === 0) expect(what).not.toBe('permit');
    }
    expect(new Set(said.map(([what]) => what)).size).toBeGreaterThanOrEqual(3);
  });
});

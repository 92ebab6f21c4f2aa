import { describe, expect, it } from 'vitest';
import {
  DEFAULT_MACHINE,
  DEFAULT_WORLD,
  type Fault,
  type FaultKind,
  World,
  withValues,
} from '../../../sim/world/plant/index.js';
import { Rig, type RigOptions, rms } from './rig.js';

/** Counts for arc volts on the default machine: 4096/3.3 a volt behind 120:1, 124 at 0 V. */
const counts = (true_V: number, ratio = 120) => Math.round((true_V / ratio) * (4096 / 3.3) + 124);

/** Codes of a tick on a burning arc at 118 V after half a second, with one fault since 0.3 s. */
function codes(kind?: FaultKind, more: Partial<Fault> = {}, options: RigOptions = {}): number[] {
  const faults = kind ? [{ kind, at_s: 0.3, ...more }] : [];
  const rig = new Rig({ ...options, faults }).strike();
  rig.wait(500 - rig.world.tick);
  return [...rig.world.readings];
}

const all = (code: number) => Array(10).fill(code);

describe('the sensing chain', () => {
  it('turns 118 V into the counts of divider, reference and bias', () => {
    expect(counts(118)).toBe(1345);
    expect(codes()).toEqual(all(counts(118)));
  });

  it('reads the bias with nothing firing', () => {
    expect([...new Rig().wait(20).world.readings]).toEqual(all(124));
  });

  it('reads a dead torch the same, bit for bit, by the short loop and by the long one', () => {
    const machine = withValues(DEFAULT_MACHINE, { 'converter.noise_counts': 3, 'isolation.offset_mV': 4 });
    // An impulse of next to nothing adds nothing, but the short loop leaves its tick to the long one.
    const impulses = { 'noise.impulse_V': 1e-300, 'noise.impulse_rate_per_s': 800, 'noise.impulse_ms': 0.1 };
    const chain = (values: Readonly<Record<string, number>>) => {
      const world = new World(machine, withValues(DEFAULT_WORLD, values), 5);
      const { noise } = world.cells;
      const seen: number[] = [];
      let long = 0;
      for (let tick = 0; tick < 1500; tick++) {
        world.advance(0, tick >= 400 && tick < 500 ? 1 : 0, 1);
        long += noise.impulsive;
        seen.push(...world.readings, noise.rectifier, noise.rectifier_before, noise.inverter, noise.inverter_before);
      }
      return { seen, long };
    };
    const short = chain({ 'noise.impulse_rate_per_s': 0 });
    const long = chain(impulses);
    expect([short.long, long.long > 500]).toEqual([0, true]);
    expect(short.seen).toEqual(long.seen);
  });

  it('reads the no-load voltage after several time constants', () => {
    const rig = new Rig();
    rig.trigger = 1;
    expect([...rig.wait(20).world.readings]).toEqual(all(counts(280)));
  });

  it('applies the errors of divider, isolation stage and converter', () => {
    expect(codes(undefined, {}, { machine: { 'divider.gain_error': 0.02 } })).toEqual(all(counts(118 / 1.02)));
    expect(codes(undefined, {}, { machine: { 'isolation.gain_error': -0.03 } })).toEqual(all(counts(118 * 0.97)));
    const offset = Math.round(((118 / 120) * 4096) / 3.3 + (0.02 * 4096) / 3.3 + 124);
    expect(codes(undefined, {}, { machine: { 'isolation.offset_mV': 20 } })).toEqual(all(offset));
    expect(codes(undefined, {}, { machine: { 'converter.offset_counts': -7 } })).toEqual(all(counts(118) - 7));
    expect(codes(undefined, {}, { machine: { 'converter.gain_error': 0.01 } })).toEqual(all(counts(118 * 1.01)));
  });

  it('reads with fewer bits', () => {
    const machine = { 'converter.bits': 10, 'converter.zero_counts': 31 };
    expect(codes(undefined, {}, { machine })).toEqual(all(Math.round((118 / 120) * (1024 / 3.3) + 31)));
  });

  it('saturates at both ends of the converter', () => {
    const rig = new Rig({ machine: { 'divider.ratio': 50 } });
    rig.trigger = 1;
    expect([...rig.wait(20).world.readings]).toEqual(all(4095));
    expect(codes('reversed-leads')).toEqual(all(0));
  });

  it('lags behind by its time constant', () => {
    const machine = { 'divider.rc_ms': 2, 'isolation.bandwidth_kHz': 1000 };
    const rig = new Rig({ machine, world: { 'arc.no_load_ms': 1000 } });
    rig.trigger = 1;
    const volts = rig.record_V(10);
    // The tap is fed a ramp of 1 ms and then 280 V: from there e^(−t/τ) of what is left after the ramp.
    const left = (280 - volts[29]) / (280 - volts[9]);
    expect(left).toBeCloseTo(Math.exp(-1), 2);
  });

  it('lags behind by the bandwidth of the isolation stage', () => {
    const machine = { 'divider.rc_ms': 0.02, 'isolation.bandwidth_kHz': 0.1 };
    const rig = new Rig({ machine, world: { 'arc.no_load_ms': 1000 } });
    rig.trigger = 1;
    const volts = rig.record_V(10);
    // 100 Hz is a time constant of 1.59 ms; 16 readings later e^(−1.6/1.59) is left.
    expect((280 - volts[35]) / (280 - volts[19])).toBeCloseTo(Math.exp(-1.6 / 1.5915), 2);
  });

  it('has converter noise of the stated rms', () => {
    const rig = new Rig({ machine: { 'converter.noise_counts': 3 } });
    const readings = rig.record_V(5000).map((volts) => volts / rig.volts(125));
    // 3 counts and the converter's own rounding, √(9 + 1/12); 50 000 readings know it to 0.3 %.
    expect(rms(readings)).toBeGreaterThan(3.014 * 0.985);
    expect(rms(readings)).toBeLessThan(3.014 * 1.015);
  });

  describe('with a fault', () => {
    it.each([
      ['open-lead', 124],
      ['resistor-top-open', 124],
      ['resistor-bottom-short', 124],
      ['shorted-capacitor', 124],
      ['reversed-leads', 0],
      ['dead-converter', 0],
      ['resistor-bottom-open', 4095],
    ] as const)('%s reads %i', (kind, code) => {
      expect(codes(kind)).toEqual(all(code));
    });

    it('reversed-leads shows below the bias when the voltage is small', () => {
      // 118 V at 500:1 are 293 counts, 124 + 169 to spare with a bias of 500.
      const machine = { 'divider.ratio': 500, 'converter.zero_counts': 500 };
      const code = Math.round(500 - (118 / 500) * (4096 / 3.3));
      expect(codes('reversed-leads', {}, { machine })).toEqual(all(code));
    });

    it('resistor-top-short reads high by the share of one resistor', () => {
      // Four resistors in 119 parts above one: three are left, 89.25 + 1.
      expect(codes('resistor-top-short')).toEqual(all(counts(118, 90.25)));
      expect(codes('resistor-top-short', {}, { machine: { 'divider.top_resistors': 1 } })).toEqual(all(4095));
    });

    it('resistor-top-short bridges as many resistors as it says, at most all', () => {
      // A lead that touches the work bridges the two resistors in it: two are left, 59.5 + 1.
      expect(codes('resistor-top-short', { value: 2 })).toEqual(all(counts(118, 60.5)));
      expect(codes('resistor-top-short', { value: 12 })).toEqual(all(4095));
    });

    it('resistor-bottom-open charges the filter slowly, through the upper part alone', () => {
      const rig = new Rig({
        faults: [{ kind: 'resistor-bottom-open', at_s: 0 }],
        machine: { 'converter.reference_V': 5.5 },
      });
      rig.trigger = 1;
      rig.wait(1);
      // 280 V on 0.47 ms · 120 = 56.4 ms: about 280/56.4·0.5 = 2.5 V after the first ramp; 5.5 V are soon passed.
      const first_V = ((rig.world.readings[9] - 124) * 5.5) / 4096;
      expect(first_V).toBeGreaterThan(2);
      expect(first_V).toBeLessThan(3);
      expect([...rig.wait(5).world.readings]).toEqual(all(4095));
    });

    it('filter-capacitor-open lets the noise through', () => {
      const spread = (kind?: FaultKind) => {
        const faults = kind ? [{ kind, at_s: 0 }] : [];
        const rig = new Rig({ world: { 'noise.white_V_rms_per_tick': 1 }, faults }).strike().wait(100);
        return rms(rig.record_V(2000));
      };
      // White noise behind the RC is √(α/(2 − α)) = 0.326 of that before it (α = 1 − e^(−0.1/0.47)).
      const alpha = 1 - Math.exp(-0.1 / 0.47);
      expect(spread() / spread('filter-capacitor-open')).toBeCloseTo(Math.sqrt(alpha / (2 - alpha)), 1);
      expect(spread('filter-capacitor-open')).toBeCloseTo(Math.sqrt(10), 1);
    });

    it('stuck-code repeats the given code whatever the arc does', () => {
      const rig = new Rig({
        faults: [{ kind: 'stuck-code', at_s: 0, value: 777 }],
        world: { 'noise.white_V_rms_per_tick': 1 },
      });
      const seen = new Set<number>();
      rig.wait(50);
      rig.strike().wait(100, 0, () => {
        for (const code of rig.world.readings) seen.add(code);
      });
      expect(seen).toEqual(new Set([777]));
    });

    it('intermittent-contact opens at times and closes again', () => {
      const rig = new Rig({ faults: [{ kind: 'intermittent-contact', at_s: 0, value: 5 }] }).strike().wait(100);
      let open_ms = 0;
      let openings = 0;
      let before = 118;
      rig.wait(60_000, 0, () => {
        const volts = rig.volts(rig.world.readings[9]);
        if (volts < 60) open_ms++;
        if (volts < 60 && before >= 60) openings++;
        before = volts;
      });
      // 5 a second for 10 ms each, in 60 s: 300·(1 − 5 %) ± 17 openings of mean 10 ms; four deviations.
      expect(openings).toBeGreaterThan(285 - 68);
      expect(openings).toBeLessThan(285 + 68);
      expect(open_ms / openings).toBeGreaterThan(7.5);
      expect(open_ms / openings).toBeLessThan(12.5);
    });

    it('comes back to its right reading when the fault ends', () => {
      for (const kind of [
        'open-lead',
        'stuck-code',
        'reversed-leads',
        'resistor-top-short',
        'dead-converter',
      ] as const) {
        const machine = { 'divider.gain_error': 0.02 };
        expect(codes(kind, { for_s: 0.1 }, { machine }), kind).toEqual(all(counts(118 / 1.02)));
      }
    });
  });
});

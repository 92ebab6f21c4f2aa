import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dividerParts, nodeVoltages, withFailed, withLink } from '../../sim/electrical/circuit.js';
import { faultCircuits } from '../../sim/electrical/faults.js';
import { filterOf, samplingOf } from '../../sim/electrical/filter.js';
import { DERATING, stressesOf, touchOf } from '../../sim/electrical/stress.js';
import { machineWith, USE } from './machine.js';

const designs = fc
  .record({
    'divider.top_resistors': fc.integer({ min: 2, max: 12 }),
    'divider.top_kohm': fc.integer({ min: 20, max: 2000 }),
    'divider.bottom_kohm': fc.integer({ min: 1, max: 100 }),
    'supply.no_load_V': fc.integer({ min: 100, max: 500 }),
  })
  .map(machineWith);

describe('the load of a part', () => {
  it('sums up to what the arc gives, with the next stage’s share', () => {
    fc.assert(
      fc.property(designs, (machine) => {
        const parts = dividerParts(machine);
        const found = nodeVoltages(parts, [{ node: 'work', volts: machine.supply.no_load_V }]);
        const drop_V = found.get('plus')!.re - found.get('minus')!.re;
        const next_W = drop_V ** 2 / (machine.isolation.input_kohm * 1000);
        const own_W = stressesOf(machine).reduce((sum, { watts }) => sum + watts, 0);
        const first = parts[0];
        const current_A = (machine.supply.no_load_V - found.get(first.to)!.re) / first.value;
        expect((own_W + next_W) / (machine.supply.no_load_V * current_A)).toBeCloseTo(1, 6);
      }),
      { seed: 2026, numRuns: 30 },
    );
  });

  it('under a fault is the worst of every single fault of the fault table', () => {
    const machine = machineWith();
    for (const { part, ohm, fault_V, fault_W } of stressesOf(machine)) {
      const worst_V = Math.max(
        ...faultCircuits(machine).map(({ parts }) => {
          const own = parts.find(({ name }) => name === part)!;
          if (own.value !== ohm) return 0;
          const found = nodeVoltages(parts, [{ node: 'work', volts: machine.supply.no_load_V }]);
          return Math.abs(found.get(own.from)!.re - found.get(own.to)!.re);
        }),
      );
      expect(fault_V / worst_V, part).toBeCloseTo(1, 6);
      expect(fault_W / (worst_V ** 2 / ohm), part).toBeCloseTo(1, 6);
    }
  });

  it('is not kept when the derated rating is exceeded, or the full rating under a fault', () => {
    const kept = (values: Readonly<Record<string, number>>) => stressesOf(machineWith(values)).every((one) => one.kept);
    // 69.4 V and 16.0 mW at each upper resistor in use, 140.0 V and 65.1 mW under a fault.
    expect(kept({})).toBe(true);
    expect(kept({ 'divider.resistor_V': 69 / DERATING.voltage })).toBe(false);
    expect(kept({ 'divider.resistor_V': 139 })).toBe(false);
    expect(kept({ 'divider.resistor_V': 141 })).toBe(true);
    expect(kept({ 'divider.resistor_W': 0.065 })).toBe(false);
    expect(kept({ 'divider.resistor_W': 0.066 })).toBe(true);
  });
});

describe('a lead that is touched', () => {
  it('carries what the network carries into a hand of no resistance, sound and with one resistor shorted', () => {
    fc.assert(
      fc.property(designs, (machine) => {
        const { lead_mA, fault_mA, shorted_mA } = touchOf(machine);
        const { no_load_V } = machine.supply;
        const sound = dividerParts(machine);
        // A milliohm stands for the hand: the current through it is its voltage's.
        const through_mA = (parts: ReturnType<typeof dividerParts>, from: string, to: string) => {
          const found = nodeVoltages(withLink(parts, from, to, 1), [{ node: 'work', volts: no_load_V }]);
          return 1000 * Math.abs(found.get(from)!.re - found.get(to)!.re);
        };
        const worst_mA = (parts: ReturnType<typeof dividerParts>) =>
          Math.max(through_mA(parts, 'plus', '0'), through_mA(parts, 'minus', 'work'));
        expect(worst_mA(sound) / lead_mA).toBeCloseTo(1, 3);
        expect(through_mA(sound, 'plus', 'minus') / shorted_mA).toBeCloseTo(1, 2);
        if (!Number.isFinite(fault_mA)) return;
        const shorted = Math.max(
          ...sound
            .filter(({ name }) => /^R\d+$/.test(name) && name !== `R${machine.divider.top_resistors + 1}`)
            .map(({ name }) => worst_mA(withFailed(sound, name, 'short'))),
        );
        expect(shorted / fault_mA).toBeCloseTo(1, 3);
      }),
      { seed: 2026, numRuns: 30 },
    );
  });

  it('is not limited behind a single resistor that shorts', () => {
    expect(touchOf(machineWith({ 'divider.top_resistors': 2 })).fault_mA).toBe(Number.POSITIVE_INFINITY);
    expect(touchOf(machineWith({ 'divider.top_resistors': 1 })).lead_mA).toBe(Number.POSITIVE_INFINITY);
  });

  it('stores the energy of the filter capacitor: half of C·V²', () => {
    // 47 nF at 280/120.0024 V are 1.279e-7 J; with the lower resistor open, at 280·1250/2454 V, 4.78e-4 J.
    const { stored_mJ, fault_stored_mJ } = touchOf(machineWith());
    expect(stored_mJ).toBeCloseTo(0.0001279, 6);
    expect(fault_stored_mJ).toBeCloseTo(0.478, 3);
  });
});

describe('the filter', () => {
  it('delays by its time constant, the stage’s, and half the time between readings', () => {
    const { delay_ms, rc_ms } = filterOf(machineWith(), USE);
    // 20 kHz are 7.96 µs.
    expect(delay_ms).toBeCloseTo(rc_ms + 0.00796 + 0.05, 5);
  });

  it('costs the loop the phase of that delay, as long as it is small', () => {
    const { delay_ms, loop_Hz, loop_phase_deg } = filterOf(machineWith(), USE);
    expect(loop_phase_deg / ((360 * loop_Hz * delay_ms) / 1000)).toBeCloseTo(1, 4);
  });

  it('wants a sample longer when the resistance in front of it is greater', () => {
    const given = machineWith();
    const { most_ohm, given_us } = samplingOf(given);
    const { needed_us } = samplingOf(machineWith({ 'isolation.output_ohm': most_ohm }));
    expect(needed_us).toBeCloseTo(given_us, 9);
  });
});

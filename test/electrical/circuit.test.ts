import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dividerParts, nodeVoltages, tapGain, tapOf, withFailed } from '../../sim/electrical/circuit.js';
import { machineWith } from './machine.js';

describe('the network of a divider', () => {
  it('has the ratio and the source resistance of the closed form, for any number of resistors', () => {
    const some = fc.record({
      'divider.top_resistors': fc.integer({ min: 1, max: 12 }),
      'divider.top_kohm': fc.integer({ min: 10, max: 5000 }),
      'divider.bottom_kohm': fc.integer({ min: 1, max: 500 }),
      'isolation.input_kohm': fc.integer({ min: 10, max: 100_000 }),
    });
    fc.assert(
      fc.property(some, (values) => {
        const machine = machineWith(values);
        const { ratio, source_ohm } = tapOf(machine);
        const gain = tapGain(dividerParts(machine));
        // A wire of a milliohm and a leak of 1e-15 S are in the network and not in the closed form.
        expect(gain.tap_per_V * ratio).toBeCloseTo(1, 6);
        expect(gain.source_ohm / source_ohm).toBeCloseTo(1, 6);
      }),
      { seed: 2026 },
    );
  });

  it('carries what a bridge of known values carries', () => {
    // 10 V over 1 kΩ + 2 kΩ beside 2 kΩ + 1 kΩ, joined by 500 Ω: nodes at 60/11 V and 50/11 V (Kirchhoff, by hand).
    const part = (name: string, from: string, to: string, value: number) =>
      ({ name, kind: 'resistor', from, to, value }) as const;
    const found = nodeVoltages(
      [
        part('a', 't', 'l', 1000),
        part('b', 'l', '0', 2000),
        part('c', 't', 'r', 2000),
        part('d', 'r', '0', 1000),
        part('e', 'l', 'r', 500),
      ],
      [{ node: 't', volts: 10 }],
    );
    expect(found.get('l')!.re).toBeCloseTo(60 / 11, 9);
    expect(found.get('r')!.re).toBeCloseTo(50 / 11, 9);
  });

  it('lags by 45° at the corner of an RC', () => {
    const found = nodeVoltages(
      [
        { name: 'r', kind: 'resistor', from: 'in', to: 'out', value: 1000 },
        { name: 'c', kind: 'capacitor', from: 'out', to: '0', value: 1e-6 },
      ],
      [{ node: 'in', volts: 1 }],
      1 / (2 * Math.PI * 1e-3),
    );
    const { re, im } = found.get('out')!;
    expect(Math.hypot(re, im)).toBeCloseTo(Math.SQRT1_2, 9);
    expect(Math.atan2(im, re)).toBeCloseTo(-Math.PI / 4, 9);
  });

  it('says so when it has no solution', () => {
    const parts = [{ name: 'r', kind: 'resistor', from: 'a', to: '0', value: Number.NaN }] as const;
    expect(() => nodeVoltages(parts, [])).toThrow(/no solution/);
  });

  it('reads 0 V with any upper resistor open, whichever it is', () => {
    const parts = dividerParts(machineWith());
    for (const name of ['R1', 'R2', 'R3', 'R4']) {
      expect(Math.abs(tapGain(withFailed(parts, name, 'open')).tap_per_V)).toBeLessThan(1e-9);
    }
  });
});

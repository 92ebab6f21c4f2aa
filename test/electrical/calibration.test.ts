import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { calibrate, type Pair } from '../../sim/electrical/index.js';
import { machineWith } from './machine.js';

const machine = machineWith();
const GAIN_V = 0.09668;
const pairsOf = (...pairs: readonly (readonly [number, number])[]): Pair[] =>
  pairs.map(([meter_V, counts], n) => ({ meter_V, counts, place: `pair ${n + 1}` }));
const straight = (...volts: readonly number[]) => pairsOf(...volts.map((V) => [V, V / GAIN_V + 124] as const));
const code = (pairs: readonly Pair[], given = machine) => {
  try {
    calibrate(pairs, given, 118);
  } catch (error) {
    return [(error as { code: string }).code, (error as Error).message] as const;
  }
  return ['none', ''] as const;
};

describe('a calibration', () => {
  it('finds gain and zero of pairs on a line exactly', () => {
    const found = calibrate(straight(-9, 0, 20, 40, 60), machine, 118);
    expect(found.gain_mV).toBeCloseTo(96.68, 9);
    expect(found.zero_counts).toBeCloseTo(124, 9);
    expect(found.both_polarities).toBe(true);
    for (const { residual_V } of found.residuals) expect(residual_V).toBeCloseTo(0, 9);
    expect(calibrate(straight(0, 30, 60), machine, 118).both_polarities).toBe(false);
  });

  it('recovers a known gain and zero within its own uncertainty in 95 % of random cases and more', () => {
    const random = new Random(2026);
    const even = (limit: number) => random.between(-limit, limit);
    const CASES = 4000;
    let gains = 0;
    let zeros = 0;
    let targets = 0;
    for (let n = 0; n < CASES; n++) {
      // Anything inside the stated limits: the parts', the meter's, the converter's rounding and noise.
      const gain_V = GAIN_V * (1 + even(0.006));
      const zero = 124 + even(20);
      const share = 1 + even(machine.meter.accuracy_percent / 100);
      const digits_V = even(machine.meter.accuracy_V);
      const bend_V = 0.0002 * 3.3 * 120;
      const pairs = [-9, 0, 15, 30, 45, 60].map((true_V, k): Pair => {
        const noise = random.gaussian() * machine.converter.noise_counts * 0.01;
        const bent = true_V + even(bend_V);
        const counts = Math.round(bent / gain_V + zero + noise + even(machine.converter.linearity_counts));
        return { meter_V: true_V * share + digits_V, counts, place: `pair ${k + 1}` };
      });
      const found = calibrate(pairs, machine, 118);
      if (Math.abs(found.gain_mV - 1000 * gain_V) <= found.gain_uncertainty_mV) gains++;
      if (Math.abs(found.zero_counts - zero) <= found.zero_uncertainty_counts) zeros++;
      const at_target_V = (found.gain_mV / 1000) * (118 / gain_V + zero - found.zero_counts);
      if (Math.abs(at_target_V - 118) <= found.target_uncertainty_V) targets++;
    }
    for (const inside of [gains, zeros, targets]) expect(inside / CASES).toBeGreaterThanOrEqual(0.95);
    // An uncertainty so wide that nothing ever falls out says nothing.
    expect(Math.min(gains, zeros, targets)).toBeLessThan(CASES);
  });

  it('refuses no pairs that keep within what parts and meter allow', () => {
    const sign = fc.constantFrom(-1, 1);
    fc.assert(
      fc.property(fc.array(sign, { minLength: 6, maxLength: 6 }), sign, sign, (signs, gain_sign, zero_sign) => {
        const pairs = [-4, 0, 15, 30, 45, 60].map((true_V, n) => {
          const counts = true_V / (GAIN_V * (1 + 0.008 * gain_sign)) + 124 + 50 * zero_sign;
          return [true_V + signs[n] * 0.02, counts + signs[5 - n] * 1.4] as const;
        });
        expect(code(pairsOf(...pairs))[0]).toBe('none');
      }),
      { seed: 2026 },
    );
  });

  it.each([
    ['fewer than three pairs', 'few', straight(0, 60)],
    ['none', 'few', []],
    ['one voltage only', 'close', straight(30, 30, 30)],
    ['voltages too close together', 'close', straight(0, 4, 8)],
    ['exchanged leads throughout', 'polarity', pairsOf([0, 124], [30, 20], [-30, 434])],
    ['a reversed pair without its sign', 'polarity', [...straight(0, 30, 60), ...pairsOf([9, 31])]],
    ['a sign that does not belong', 'polarity', [...straight(0, 30, 60), ...pairsOf([-9, 217])]],
    ['counts that fall', 'sign', pairsOf([5, 120], [4, 122], [3, 125])],
    ['a code at the top', 'range-end', [...straight(0, 30), ...pairsOf([60, 4095])]],
    ['a code at the bottom', 'range-end', [...straight(0, 30), ...pairsOf([-40, 0])]],
    ['a pair off the line', 'residual', [...straight(-9, 0, 20, 60), ...pairsOf([40, 545])]],
    ['a gain that the parts do not allow', 'gain', pairsOf([0, 124], [30, 424], [60, 724])],
    ['a zero that is far away', 'zero', straight(-9, 0, 30, 60).map((pair) => ({ ...pair, counts: pair.counts + 80 }))],
  ] as const)('refuses %s', (_name, expected, pairs) => {
    const [found, message] = code(pairs);
    expect(found).toBe(`calibration-${expected}`);
    if (expected === 'residual') expect(message).toMatch(/: 40 V lie 0\.\d+ V off/);
  });

  it('is the less certain the poorer the meter, and the further the target', () => {
    const pairs = straight(-9, 0, 20, 40, 60);
    const poor = machineWith({ 'meter.accuracy_percent': 0.5, 'meter.accuracy_V': 0.1 });
    expect(calibrate(pairs, poor, 118).target_uncertainty_V).toBeGreaterThan(
      2 * calibrate(pairs, machine, 118).target_uncertainty_V,
    );
    expect(calibrate(pairs, machine, 150).target_uncertainty_V).toBeGreaterThan(
      calibrate(pairs, machine, 60).target_uncertainty_V,
    );
  });
});

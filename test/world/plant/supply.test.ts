import { describe, expect, it } from 'vitest';
import { inputCurrent_A } from '../../../sim/world/plant/index.js';

describe('the input current', () => {
  const plate = { mains_V: 240, phases: 1, efficiency: 0.85, power_factor: 0.7 } as const;

  it('is about 20 A for a 30 A supply at 240 V', () => {
    // Source: common practice; load voltage 80 + 0.4·I = 92 V by IEC 60974-1 (memory). A tenth of doubt.
    expect(inputCurrent_A(92, 30, plate)).toBeGreaterThan(18);
    expect(inputCurrent_A(92, 30, plate)).toBeLessThan(22);
  });

  it('is shared by three phases at √3', () => {
    const three = { ...plate, phases: 3 } as const;
    expect(inputCurrent_A(100, 40, plate) / inputCurrent_A(100, 40, three)).toBeCloseTo(Math.sqrt(3), 12);
  });
});

import { describe, expect, it } from 'vitest';
import { DutyWindow, inputCurrent_A } from '../../../sim/world/plant/index.js';
import { Rig } from './rig.js';

describe('the duty cycle', () => {
  it('counts the arc time of the last ten minutes and forgets what is older', () => {
    // Source: ten-minute period (seen).
    const duty = new DutyWindow();
    for (let n = 0; n < 300; n++) duty.second(1000);
    expect(duty.percent).toBe(50);
    for (let n = 0; n < 300; n++) duty.second(0);
    expect(duty.percent).toBe(50);
    for (let n = 0; n < 150; n++) duty.second(0);
    expect(duty.percent).toBe(25);
    for (let n = 0; n < 150; n++) duty.second(500);
    expect(duty.percent).toBe(12.5);
  });

  it('is reported by the world from its own arc', () => {
    const rig = new Rig().strike();
    rig.wait(30_000 - rig.world.tick);
    // Thirty seconds but for the 150 ms of the strike, of 600.
    expect(rig.world.duty_percent).toBeCloseTo((rig.world.arc_on_ms / 600_000) * 100, 9);
    expect(rig.world.duty_percent).toBeGreaterThan(4.97);
    expect(rig.world.arc_on_ms).toBe(30_000 - 151);
  });
});

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

import { describe, expect, it } from 'vitest';
import { DEFAULT_WORLD } from '../../sim/world/plant/index.js';
import { exactCosine, exactSine, exponential, lagShare } from '../../sim/world/plant/series.js';
import { OPEN_SENSING, Rig, rms } from '../world/plant/rig.js';

describe('the series that replace transcendental functions at setup', () => {
  it('agree with the engine’s own', () => {
    for (let x = -30; x <= 30; x += 0.37) {
      // Halving and squaring up to six times multiplies the rounding error by 64.
      expect(Math.abs(exponential(x) / Math.exp(x) - 1)).toBeLessThan(1e-13);
    }
    for (let turns = -3; turns <= 3; turns += 0.0137) {
      expect(Math.abs(exactSine(turns) - Math.sin(2 * Math.PI * turns))).toBeLessThan(1e-13);
      expect(Math.abs(exactCosine(turns) - Math.cos(2 * Math.PI * turns))).toBeLessThan(1e-13);
    }
  });
});

describe('the RC filter', () => {
  // Source: held-input RC, α = 1 − e^(−T/τ), exact for an input held over T (any text on sampled systems).
  it('takes the share of a held step that the formula gives', () => {
    expect(lagShare(0.1, 0.47)).toBeCloseTo(1 - Math.exp(-0.1 / 0.47), 13);
    expect(lagShare(1, 50)).toBeCloseTo(1 - Math.exp(-1 / 50), 13);
    expect(lagShare(1, 0)).toBe(1);
    expect(lagShare(1000, 1)).toBe(1);
  });

  it('answers a step in the readings as 1 − e^(−t/τ), to half a step of the converter', () => {
    // At 5:1 one count is 4 mV of arc voltage; the pilot arc's 20 V are what the step goes to.
    const machine = { 'divider.ratio': 10, 'converter.reference_V': 3.3, 'supply.no_load_V': 24, 'divider.rc_ms': 3 };
    const rig = new Rig({
      machine: { ...machine, 'isolation.bandwidth_kHz': 1000 },
      world: { 'arc.no_load_ms': 1000 },
    });
    rig.trigger = 1;
    const volts = rig.record_V(30);
    // The world raises the voltage along 1 ms in ten equal parts; the answer is the sum of ten delayed steps.
    const step = (t_ms: number) => (t_ms > 0 ? 1 - Math.exp(-t_ms / 3) : 0);
    for (let n = 0; n < volts.length; n++) {
      const end_ms = (n + 1) / 10;
      let expected_V = 0;
      for (let part = 0; part < 10; part++) expected_V += 2.4 * step(end_ms - part / 10);
      expect(Math.abs(volts[n] - expected_V)).toBeLessThanOrEqual(0.5 * rig.volts(125) + 1e-9);
    }
  });
});

describe('the converter', () => {
  // Source: quantisation noise Δ/√12 (check-values: 12 bit over 3.3 V, 0.2326 mV rms).
  it('rounds with an error of Δ/√12', () => {
    const rig = new Rig({ machine: { ...OPEN_SENSING, 'axis.z_start_mm': 1.2 } }).strike();
    const errors: number[] = [];
    // 1 step a millisecond is 2.5 µm, 10 mV at the arc, a tenth of a count: the ramp visits every part of a code.
    rig.wait(100);
    rig.wait(1000, 1, () => errors.push((rig.volts(rig.world.readings[9]) - rig.world.cells.sensing.sensed_V) / 120));
    expect(rms(errors) * 1000).toBeGreaterThan(0.2326 * 0.97);
    expect(rms(errors) * 1000).toBeLessThan(0.2326 * 1.03);
    expect(Math.max(...errors.map(Math.abs)) * 1000).toBeLessThanOrEqual((3300 / 4096) * 0.5 + 1e-9);
  });

  // Source: SNR = 6.02·N + 1.76 dB of a full-scale sine (check-values; it follows from Δ/√12).
  it.each([8, 10, 12])('gives a full-scale sine over %i bits its 6.02·N + 1.76 dB', (bits) => {
    const half_V = 41;
    const machine = {
      ...OPEN_SENSING,
      'converter.bits': bits,
      'converter.zero_counts': 0,
      'divider.ratio': (2 * half_V) / 3.3,
      // A frequency that shares no period with the ticks, so that every part of a code is visited.
      'supply.mains_Hz': 49.37,
    };
    const world = { 'arc.voltage_at_cut_V': half_V, 'noise.ripple_V_peak': 40 };
    const rig = new Rig({ machine, world }).strike().wait(300);
    const signal: number[] = [];
    const errors: number[] = [];
    rig.wait(20_000, 0, () => {
      signal.push(rig.world.cells.sensing.sensed_V);
      errors.push(rig.volts(rig.world.readings[9]) - rig.world.cells.sensing.sensed_V);
    });
    const full_scale_rms = half_V / Math.SQRT2;
    expect(rms(signal) / full_scale_rms).toBeCloseTo(40 / 41, 2);
    // 20 000 errors know their rms to 0.3 % (0.03 dB); codes near the sine's crests are visited unevenly.
    expect(Math.abs(20 * Math.log10(full_scale_rms / rms(errors)) - (6.02 * bits + 1.76))).toBeLessThan(0.15);
  });
});

describe('the arc’s assumed slope', () => {
  const { arc } = DEFAULT_WORLD;

  // Source: Stokes & Oppenlander 1991 (second hand), free-burning arc in air: V = (20 + 0.534·g)·I^0.12, g in mm.
  it('and voltage lie above those of a free-burning arc at 40 A', () => {
    const factor = 40 ** 0.12;
    expect(0.534 * factor).toBeCloseTo(0.83, 2);
    expect(arc.slope_V_per_mm).toBeGreaterThan(0.534 * factor);
    expect(arc.voltage_at_cut_V).toBeGreaterThan((20 + 0.534 * arc.cut_standoff_mm) * factor);
  });

  // Source: Mancinelli et al. 2014 (seen): the column of a thermal plasma has a few volts a millimetre at most.
  // "A few" is read as five; a check of plausibility, not of a figure.
  it('is not above the field of a thermal plasma column', () => {
    expect(arc.slope_V_per_mm).toBeLessThanOrEqual(5);
  });
});

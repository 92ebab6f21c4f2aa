import { describe, expect, it } from 'vitest';
import { WorldInstance } from '../../../sim/world/cells/index.js';
import { DEFAULT_MACHINE, DEFAULT_WORLD, World, withValues } from '../../../sim/world/plant/index.js';
import { mean, means, OPEN_SENSING, peakAt, Rig, rms } from './rig.js';

/** Readings of a burning arc over a second or more, the start left out. */
function record(world: Record<string, number>, machine: Record<string, number> = {}, seconds = 1, seed = 1) {
  return new Rig({ seed, world, machine: { ...OPEN_SENSING, ...machine } })
    .strike()
    .wait(300)
    .record_V(seconds * 1000);
}

describe('noise', () => {
  it('is absent with every cause off: the readings repeat one code', () => {
    expect(new Set(record({})).size).toBe(1);
  });

  it('white: has the stated rms as a mean over a tick, and √10 times that on a reading', () => {
    const readings = record({ 'noise.white_V_rms_per_tick': 1 }, {}, 20);
    // 20 000 ticks: the rms is known to 0.5 %; four times that and 0.1 % for the converter's steps and filter.
    expect(rms(means(readings, 10))).toBeGreaterThan(0.979);
    expect(rms(means(readings, 10))).toBeLessThan(1.021);
    // The open filter still passes one reading's step for 99.3 %: √(α/(2 − α)) of white noise is 0.993.
    expect(rms(readings) / Math.sqrt(10)).toBeGreaterThan(0.98);
    expect(rms(readings) / Math.sqrt(10)).toBeLessThan(1.01);
  });

  it('white: is not correlated from reading to reading', () => {
    const readings = record({ 'noise.white_V_rms_per_tick': 1 }, {}, 5);
    const middle = mean(readings);
    let product = 0;
    for (let n = 1; n < readings.length; n++) product += (readings[n] - middle) * (readings[n - 1] - middle);
    // The open filter leaves 0.7 % of the last reading; 50 000 products are known to 0.45 %, four times that.
    expect(Math.abs(product / readings.length / rms(readings) ** 2)).toBeLessThan(0.007 + 0.018);
  });

  it.each([
    [1, 50, 100],
    [1, 60, 120],
    [3, 50, 300],
    [3, 60, 360],
    [1, 49.6, 99.2],
  ])('ripple: %i phases at %f Hz give %f Hz with the stated peak', (phases, mains_Hz, ripple_Hz) => {
    const machine = { 'supply.phases': phases, 'supply.mains_Hz': mains_Hz };
    // Five seconds hold a whole number of periods of each.
    const readings = record({ 'noise.ripple_V_peak': 2 }, machine, 5);
    // The open filter takes 0.03 % at 360 Hz; the converter's steps of 0.097 V average out.
    expect(peakAt(readings, ripple_Hz)).toBeCloseTo(2, 2);
    expect(peakAt(readings, ripple_Hz / 2)).toBeLessThan(0.01);
    // A sine of peak 2 has an rms of √2; the converter's steps add 0.028 V in square.
    expect(rms(readings)).toBeCloseTo(Math.SQRT2, 2);
  });

  it.each([
    ['ripple', { 'noise.ripple_V_peak': 20 }, 10],
    ['inverter', { 'noise.inverter_V_peak': 40, 'noise.inverter_kHz': 20.01 }, 100],
  ])('%s: keeps its peak and phase for an hour', (_name, world, period_ms) => {
    const rig = new Rig({ world, machine: OPEN_SENSING }).strike().wait(300);
    const early = rig.record_V(period_ms);
    rig.wait(3_600_000 - period_ms);
    const late = rig.record_V(period_ms);
    // A whole number of periods later: the same readings, but for those that stood on the edge of a code.
    for (let n = 0; n < early.length; n++) expect(Math.abs(early[n] - late[n])).toBeLessThan(0.097);
  });

  it('inverter: shows as its alias, attenuated by the filter as at its own frequency', () => {
    const world = { 'noise.inverter_V_peak': 20, 'noise.inverter_kHz': 20.03 };
    const open = record(world, { 'divider.rc_ms': 0.02, 'isolation.bandwidth_kHz': 1000 });
    const closed = record(world, { 'divider.rc_ms': 0.47, 'isolation.bandwidth_kHz': 1000 }, 10);
    const share = (rc_ms: number) => 1 / Math.sqrt(1 + (2 * Math.PI * 20.03 * rc_ms) ** 2);
    expect(peakAt(open, 30)).toBeCloseTo(20 * share(0.02), 1);
    // 0.338 V, three and a half steps of the converter: 3 % of doubt.
    expect(peakAt(closed, 30) / (20 * share(0.47))).toBeGreaterThan(0.97);
    expect(peakAt(closed, 30) / (20 * share(0.47))).toBeLessThan(1.03);
  });

  it('slow: has the stated rms and falls off above its corner', () => {
    const readings = means(record({ 'noise.coloured_V_rms': 2, 'noise.coloured_corner_Hz': 5 }, {}, 100), 10);
    // 100 s hold about 100·2·5·π/2 ≈ 1600 independent values: rms known to 1.8 %; three times that.
    expect(rms(readings)).toBeGreaterThan(2 * 0.946);
    expect(rms(readings)).toBeLessThan(2 * 1.054);
    let product = 0;
    for (let n = 32; n < readings.length; n++) product += (readings[n] - 118) * (readings[n - 32] - 118);
    // One pole at 5 Hz: correlation e^(−2π·5·0.032) = 0.366 after 32 ms.
    expect(product / readings.length / rms(readings) ** 2).toBeGreaterThan(0.366 - 0.08);
    expect(product / readings.length / rms(readings) ** 2).toBeLessThan(0.366 + 0.08);
  });

  it('impulses: come at the stated rate, of both signs, and carry height times width behind the filter', () => {
    const world = { 'noise.impulse_rate_per_s': 10, 'noise.impulse_V': 100, 'noise.impulse_ms': 0.05 };
    const rig = new Rig({ world, machine: { 'divider.rc_ms': 0.47, 'isolation.bandwidth_kHz': 1000 } }).strike();
    const readings = rig.wait(300).record_V(100_000);
    let count = 0;
    let positive = 0;
    let quiet_until = 0;
    for (let n = 1; n < readings.length; n++) {
      if (n >= quiet_until && Math.abs(readings[n] - 118) > 2.5) {
        count++;
        if (readings[n] > 118) positive++;
        quiet_until = n + 60;
      }
    }
    // 1000 expected ± 32 (Poisson), four of them; 6 ms of dead time hide up to 6 %.
    expect(count).toBeGreaterThan(1000 - 128 - 60);
    expect(count).toBeLessThan(1000 + 128);
    expect(positive / count).toBeGreaterThan(0.43);
    expect(positive / count).toBeLessThan(0.57);
  });

  it('impulses: a single one leaves an area of height times width, however short', () => {
    for (const width_ms of [0.01, 0.05, 0.3]) {
      const world = { 'noise.impulse_rate_per_s': 5, 'noise.impulse_V': 400, 'noise.impulse_ms': width_ms };
      const rig = new Rig({ world, machine: { 'divider.rc_ms': 0.47, 'divider.ratio': 200 } }).strike().wait(300);
      const rest_V = Math.round(118 / rig.volts(125)) * rig.volts(125);
      const areas: number[] = [];
      for (let n = 0; n < 5000; n++) {
        rig.wait(1);
        if (Math.abs(rig.mean_V() - rest_V) < 0.5) continue;
        let area = rig.mean_V() - rest_V;
        rig.wait(11, 0, () => {
          area += rig.mean_V() - rest_V;
        });
        areas.push(Math.abs(area));
      }
      areas.sort((a, b) => a - b);
      // 0.16 V steps of the converter over 12 ms, and readings just before the threshold: 10 % and 0.5 V·ms.
      const middle = areas[areas.length >> 1];
      expect(Math.abs(middle - 400 * width_ms)).toBeLessThan(40 * width_ms + 0.5);
    }
  });

  it('is silent, impulses apart, while the torch is dead', () => {
    const world = {
      'noise.white_V_rms_per_tick': 5,
      'noise.coloured_V_rms': 5,
      'noise.ripple_V_peak': 20,
      'noise.inverter_V_peak': 20,
    };
    const rig = new Rig({ world, machine: OPEN_SENSING });
    expect(new Set(rig.record_V(500))).toEqual(new Set([0]));
    expect(rms(rig.strike().record_V(500))).toBeGreaterThan(10);
  });

  it('of one cause does not shift that of another', () => {
    const causes = [
      { 'noise.ripple_V_peak': 2 },
      { 'noise.coloured_V_rms': 2 },
      { 'noise.impulse_rate_per_s': 20 },
      { 'noise.white_V_rms_per_tick': 0.5 },
      { 'noise.inverter_V_peak': 5 },
    ];
    const rest_V = record({})[0];
    const single = causes.map((cause) => record(cause));
    const together = record(Object.assign({}, ...causes));
    for (let n = 0; n < together.length; n++) {
      const sum = single.reduce((total, readings) => total + readings[n] - rest_V, rest_V);
      // Superposition, to the converter's rounding of each of the seven records: half a step each.
      expect(Math.abs(together[n] - sum)).toBeLessThan(3.5 * 0.0967);
    }
  });
});

describe('exponential draws', () => {
  it('have mean 1, spread 1 and the right share beyond 3', () => {
    const instance = new WorldInstance();
    // Impulses once a tick on average: the wait for the first is the draw itself.
    const world = withValues(DEFAULT_WORLD, { 'noise.impulse_rate_per_s': 1000, 'noise.impulse_V': 1 });
    new World(DEFAULT_MACHINE, world, 7, instance);
    const draws = Float64Array.from({ length: 100_000 }, () => {
      instance.module.draw_impulse();
      return instance.cells.noise.wait_ticks;
    });
    // 100 000 draws: mean ± 0.0032, rms ± 0.0071 (kurtosis 9), share e^−3 = 0.0498 ± 0.0007; four of each.
    expect(Math.abs(mean(draws) - 1)).toBeLessThan(0.013);
    expect(Math.abs(rms(draws) - 1)).toBeLessThan(0.029);
    expect(Math.abs(draws.filter((draw) => draw > 3).length / draws.length - Math.exp(-3))).toBeLessThan(0.0028);
  });
});

import { expect, it } from 'vitest';
import { OUTPUT_MEASURED_V, OUTPUT_TICK_V, READINGS_PER_TICK } from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { lagShare } from '../../sim/world/plant/series.js';
import { askPython, describeAgainst, SCIPY } from './support.js';

const module = loadControlModule();
const RATE_Hz = 10_000;
const MIDDLE_COUNTS = 2000;
const AMPLITUDE_COUNTS = 1500;
const TICKS = 1000;
/** Until the longest mean is full. */
const FILL_TICKS = 20;

const idOf = (name: string) => PARAMETER_ROWS.find((row) => row.name === name)!.id;

/** Magnitude of the two outputs for a sine on the raw readings, by least squares at its own frequency. */
function answer(frequency_Hz: number, mains_Hz: number): { readonly tick: number; readonly mean: number } {
  const controller = new WasmController(module);
  controller.setParameter(idOf('spike_V'), 0);
  controller.setParameter(idOf('mains_Hz'), mains_Hz);
  const gain_V = controller.parameter(idOf('reading_gain_mV')) / 1000;
  const zero_counts = controller.parameter(idOf('reading_zero_counts'));
  const tick = new Projection();
  const mean = new Projection();
  for (let n = 0; n < TICKS + FILL_TICKS; n++) {
    for (let k = 0; k < READINGS_PER_TICK; k++) {
      const turns = (frequency_Hz * (n * READINGS_PER_TICK + k)) / RATE_Hz;
      controller.readings[k] = Math.round(MIDDLE_COUNTS + AMPLITUDE_COUNTS * Math.sin(2 * Math.PI * turns));
    }
    controller.tick();
    if (n < FILL_TICKS) continue;
    const angle = (2 * Math.PI * frequency_Hz * n) / 1000;
    const { reals } = controller.output;
    tick.add(angle, reals[OUTPUT_TICK_V / 4] / gain_V + zero_counts - MIDDLE_COUNTS);
    mean.add(angle, reals[OUTPUT_MEASURED_V / 4] / gain_V + zero_counts - MIDDLE_COUNTS);
  }
  return { tick: tick.amplitude / AMPLITUDE_COUNTS, mean: mean.amplitude / AMPLITUDE_COUNTS };
}

/** Least squares of y = a·cos + b·sin. */
class Projection {
  private cc = 0;
  private cs = 0;
  private ss = 0;
  private cy = 0;
  private sy = 0;

  add(angle: number, y: number): void {
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    this.cc += c * c;
    this.cs += c * s;
    this.ss += s * s;
    this.cy += c * y;
    this.sy += s * y;
  }

  get amplitude(): number {
    const determinant = this.cc * this.ss - this.cs * this.cs;
    const a = (this.cy * this.ss - this.sy * this.cs) / determinant;
    const b = (this.sy * this.cc - this.cy * this.cs) / determinant;
    return Math.hypot(a, b);
  }
}

/** Boxcar magnitude |sin(πRf)/(R·sin πf)|, f in cycles a reading (Hogenauer 1981, N = M = 1). */
const hogenauer = (readings: number, f: number) =>
  Math.abs(Math.sin(Math.PI * readings * f) / (readings * Math.sin(Math.PI * f)));

/** A sine of 1500 counts, rounded to counts, seen through a thousand ticks. */
const WITHIN = 3e-4;

// Sampled once a millisecond a multiple of 500 Hz would show one phase of the sine only; those are left out, save
// for the nulls of the mean, which the last check looks at.
const FREQUENCIES_HZ = [3, 17, 41, 77, 130, 170, 233, 287, 333, 410, 620, 777, 930, 1130, 1777, 2610, 3333, 4870];

describeAgainst(SCIPY, 'against scipy', (python) => {
  const ask = (weights: readonly number[]) =>
    askPython<{ boxcars: number[][]; rc: { keep: number; share: number }[] }>(python, 'filters.py', {
      boxcars: [weights, new Array<number>(READINGS_PER_TICK).fill(1)].map((each) => ({
        weights: each,
        rate_Hz: RATE_Hz,
        frequencies_Hz: FREQUENCIES_HZ,
      })),
      rcs: [
        { tau_ms: 0.47, period_ms: 0.1 },
        { tau_ms: 3, period_ms: 0.1 },
        { tau_ms: 50, period_ms: 1 },
      ],
    });

  // 60 Hz: half a period is 83⅓ readings, so the last of 84 weighs a third.
  it.each([
    { mains_Hz: 50, weights: new Array<number>(100).fill(1) },
    { mains_Hz: 60, weights: [...new Array<number>(83).fill(1), 1 / 3] },
  ])(
    'the module’s decimation and its mean at $mains_Hz Hz have the boxcar’s frequency response',
    ({ mains_Hz, weights }) => {
      const [mean, tick] = ask(weights).boxcars;
      for (const [index, frequency_Hz] of FREQUENCIES_HZ.entries()) {
        const found = answer(frequency_Hz, mains_Hz);
        expect(Math.abs(found.tick - tick[index]), `${frequency_Hz} Hz, tick`).toBeLessThan(WITHIN);
        expect(Math.abs(found.mean - mean[index]), `${frequency_Hz} Hz, mean`).toBeLessThan(WITHIN);
        // Both outside sources agree with each other.
        expect(tick[index]).toBeCloseTo(hogenauer(READINGS_PER_TICK, frequency_Hz / RATE_Hz), 12);
      }
    },
  );

  it('the world’s RC takes the share of a held input that the exact discretisation takes', () => {
    const [tap, slow, feed] = ask([1]).rc;
    for (const [rc, period_ms, tau_ms] of [
      [tap, 0.1, 0.47],
      [slow, 0.1, 3],
      [feed, 1, 50],
    ] as const) {
      expect(lagShare(period_ms, tau_ms)).toBeCloseTo(rc.share, 12);
      expect(1 - lagShare(period_ms, tau_ms)).toBeCloseTo(rc.keep, 12);
    }
  });
});

// Source: nulls at k/(RM) (Hogenauer 1981).
it.each([
  { mains_Hz: 50, nulls_Hz: [100, 200, 300, 600] },
  { mains_Hz: 60, nulls_Hz: [120, 240, 360, 720] },
])('the mean at $mains_Hz Hz takes $nulls_Hz Hz away', ({ mains_Hz, nulls_Hz }) => {
  for (const null_Hz of nulls_Hz) {
    // With the fractional end weight the nulls are not exact: a third of a reading in 83⅓ has the wrong phase.
    expect(answer(null_Hz, mains_Hz).mean, `${null_Hz} Hz`).toBeLessThan(mains_Hz === 50 ? WITHIN : 3e-3);
  }
});

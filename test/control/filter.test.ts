import { describe, expect, it } from 'vitest';
import { FLAG_SPIKE, OUTPUT_MEASURED_V, OUTPUT_TICK_V } from '../../firmware/wire/layout.gen.js';
import { CUT_V, countsOf, Rig, VOLTS_PER_COUNT, ZERO_COUNTS } from './rig.js';

const READINGS_HZ = 10_000;

/** Feeds offset + amplitude·sin(2πft) in counts and gives what an output shows, one value a tick. */
function respond(rig: Rig, frequency_Hz: number, output: number, ticks = 1200): number[] {
  const seen: number[] = [];
  rig.alive = false;
  for (let tick = 0; tick < ticks; tick++) {
    rig.counts = Array.from({ length: 10 }, (_, i) =>
      Math.round(2000 + AMPLITUDE_COUNTS * Math.sin((2 * Math.PI * frequency_Hz * (tick * 10 + i)) / READINGS_HZ)),
    );
    rig.tick();
    seen.push(rig.real(output));
  }
  return seen.slice(200);
}

const AMPLITUDE_COUNTS = 1500;
const AMPLITUDE_V = AMPLITUDE_COUNTS * VOLTS_PER_COUNT;

/** Amplitude of the component at this frequency, relative to what went in: least squares on sine and cosine. */
function magnitude(values: readonly number[], frequency_Hz: number): number {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  let sine = 0;
  let cosine = 0;
  for (const [n, value] of values.entries()) {
    const angle = (2 * Math.PI * frequency_Hz * n) / 1000;
    sine += (value - mean) * Math.sin(angle);
    cosine += (value - mean) * Math.cos(angle);
  }
  return (2 * Math.hypot(sine, cosine)) / values.length / AMPLITUDE_V;
}

const swing = (values: readonly number[]): number => (Math.max(...values) - Math.min(...values)) / 2 / AMPLITUDE_V;

describe('decimation to 1 kHz with the spike rejection off', () => {
  // Hogenauer 1981, one stage, R = 10, M = 1 (check-values: seen).
  const boxcar = (frequency_Hz: number) => {
    const f = frequency_Hz / READINGS_HZ;
    return Math.abs(Math.sin(Math.PI * 10 * f) / (10 * Math.sin(Math.PI * f)));
  };

  // 1000 ticks hold whole periods of each of these, so the fit has no leakage.
  it.each([11, 37, 120, 300, 433, 701, 905, 1300, 1700, 2300, 3701, 4600])(
    'follows the boxcar magnitude at %i Hz',
    (frequency_Hz) => {
      const seen = magnitude(respond(new Rig({ spike_V: 0 }), frequency_Hz, OUTPUT_TICK_V), frequency_Hz);
      // Rounding to counts is ±0.5 of 1500 for one reading; averaged over ten and a thousand ticks far less.
      expect(Math.abs(seen - boxcar(frequency_Hz))).toBeLessThan(3e-4);
    },
  );

  it.each([1000, 2000, 3000, 4000, 5000])('nulls %i Hz', (frequency_Hz) => {
    // What is left is rounding: at most half a count in each reading, and f32.
    expect(swing(respond(new Rig({ spike_V: 0 }), frequency_Hz, OUTPUT_TICK_V))).toBeLessThan(0.5 / AMPLITUDE_COUNTS);
  });
});

describe('the mean over half a mains period', () => {
  /** The weights as control.md states them: whole readings, and a fractional weight for the oldest. */
  const weighted = (mains_Hz: number, frequency_Hz: number) => {
    const length = 5000 / mains_Hz;
    const whole = Math.floor(length);
    let re = 0;
    let im = 0;
    for (let k = 0; k <= whole; k++) {
      const weight = k < whole ? 1 : length - whole;
      re += weight * Math.cos((2 * Math.PI * frequency_Hz * k) / READINGS_HZ);
      im += weight * Math.sin((2 * Math.PI * frequency_Hz * k) / READINGS_HZ);
    }
    return Math.hypot(re, im) / length;
  };

  it.each([
    [50, 100],
    [50, 300],
    [60, 120],
    [60, 360],
  ])('with %i Hz mains nulls the rectifier ripple at %i Hz', (mains_Hz, frequency_Hz) => {
    const left = swing(respond(new Rig({ spike_V: 0, mains_Hz }), frequency_Hz, OUTPUT_MEASURED_V));
    // The fractional end weight of 83⅓ readings is not an exact null: 2.6e-3 at 360 Hz (computed).
    expect(left).toBeLessThan(3e-3);
    expect(Math.abs(left - weighted(mains_Hz, frequency_Hz))).toBeLessThan(4e-4);
  });

  it.each([
    [50, 40],
    [50, 170],
    [60, 40],
    [60, 170],
    [45, 170],
    [65, 170],
  ])('with %i Hz mains has the magnitude of its weights at %i Hz', (mains_Hz, frequency_Hz) => {
    const seen = magnitude(respond(new Rig({ spike_V: 0, mains_Hz }), frequency_Hz, OUTPUT_MEASURED_V), frequency_Hz);
    expect(Math.abs(seen - weighted(mains_Hz, frequency_Hz))).toBeLessThan(4e-4);
  });
});

describe('calibration', () => {
  it('turns counts into arc volts by zero and gain', () => {
    const rig = new Rig({ reading_zero_counts: 300, reading_gain_mV: 50 });
    rig.alive = false;
    rig.counts = new Array<number>(10).fill(2300);
    rig.run(40);
    expect(rig.real(OUTPUT_TICK_V)).toBeCloseTo(100, 4);
    expect(rig.real(OUTPUT_MEASURED_V)).toBeCloseTo(100, 4);
  });

  it('starts from 0 V with the zero reading, and again after a parameter has changed', () => {
    const rig = new Rig();
    rig.true_V = 20;
    rig.run(50);
    expect(rig.real(OUTPUT_MEASURED_V)).toBeCloseTo(20, 0);
    expect(rig.set('settle_ms', 50)).toBe(0);
    rig.true_V = 0;
    rig.tick();
    expect(Math.abs(rig.real(OUTPUT_MEASURED_V))).toBeLessThan(VOLTS_PER_COUNT);
  });
});

/** 100 V for 0.3 ms behind the divider's low-pass of 0.47 ms (held-input RC, check-values), read at 10 kHz. */
function spikeReadings(first_reading: number, ticks: number): number[] {
  const share = 1 - Math.exp(-0.1 / 0.47);
  let behind_V = 0;
  return Array.from({ length: ticks * 10 }, (_, n) => {
    const at_tap_V = n >= first_reading && n < first_reading + 3 ? 100 : 0;
    behind_V += (at_tap_V - behind_V) * share;
    return behind_V;
  });
}

describe('spike rejection', () => {
  const phases = Array.from({ length: 10 }, (_, i) => i);

  it.each(phases)('leaves at most 3 V·ms of a 100 V, 0.3 ms spike that begins at reading %i', (phase) => {
    const rig = new Rig();
    rig.alive = false;
    rig.true_V = CUT_V;
    rig.run(60);
    const before_V = rig.real(OUTPUT_TICK_V);
    const spike = spikeReadings(phase, 8);
    let left_V_ms = 0;
    let seen = 0;
    for (let tick = 0; tick < 8; tick++) {
      rig.counts = spike.slice(tick * 10, tick * 10 + 10).map((extra) => countsOf(CUT_V + extra));
      rig.tick();
      left_V_ms += rig.real(OUTPUT_TICK_V) - before_V;
      if (rig.flag(FLAG_SPIKE)) seen++;
    }
    expect(left_V_ms).toBeLessThanOrEqual(3);
    expect(seen).toBeGreaterThan(0);
  });

  it.each(phases)(
    'so the spike starts no hold (reading %i), while without rejection more than 10 V·ms are left',
    (phase) => {
      const rig = new Rig().cutting();
      rig.run(300);
      const spike = spikeReadings(phase, 8);
      for (let tick = 0; tick < 8; tick++) {
        rig.counts = spike.slice(tick * 10, tick * 10 + 10).map((extra) => countsOf(rig.true_V + extra));
        rig.tick();
        expect(rig.hold).toBe('none');
      }
      rig.counts = undefined;
      rig.run(30, () => expect(rig.hold).toBe('none'));
      expect(spike.reduce((a, b) => a + b, 0) / 10).toBeGreaterThan(10);
    },
  );

  it('believes a change that lasts longer than spike_ms', () => {
    const rig = new Rig({ spike_ms: 4 });
    rig.alive = false;
    rig.true_V = 100;
    rig.run(4);
    expect(rig.real(OUTPUT_TICK_V)).toBeCloseTo(0, 1);
    rig.run(1);
    expect(rig.real(OUTPUT_TICK_V)).toBeCloseTo(100, 0);
    rig.run(12);
    expect(rig.real(OUTPUT_MEASURED_V)).toBeCloseTo(100, 0);
  });

  it('sets aside a spike downwards too', () => {
    const rig = new Rig();
    rig.true_V = CUT_V;
    rig.run(60);
    rig.counts = [...new Array<number>(8).fill(countsOf(CUT_V)), ZERO_COUNTS, ZERO_COUNTS];
    rig.tick();
    expect(rig.real(OUTPUT_TICK_V)).toBeCloseTo(CUT_V, 0);
    expect(rig.flag(FLAG_SPIKE)).toBe(true);
  });

  it('is over with the first reading that is near the mean, though not on it', () => {
    const rig = new Rig();
    rig.true_V = CUT_V;
    rig.run(60);
    rig.counts = [...new Array<number>(8).fill(countsOf(CUT_V)), ZERO_COUNTS, ZERO_COUNTS];
    rig.tick();
    rig.counts = new Array<number>(10).fill(countsOf(CUT_V) + 4);
    rig.tick();
    expect(rig.flag(FLAG_SPIKE)).toBe(false);
    expect(rig.real(OUTPUT_TICK_V)).toBeCloseTo(CUT_V + 4 * VOLTS_PER_COUNT, 1);
  });
});

describe('readings that cannot be an arc', () => {
  it('calls five ticks at the end of the range a saturated reading, in settle, follow and hold only', () => {
    for (const mode of ['settle', 'follow', 'hold']) {
      const rig = new Rig({ spike_V: 0, arc_high_V: 400, crossing_rise_mm_per_s: 0, crossing_band_mm: 0 }).at(mode);
      rig.alive = false;
      rig.counts = new Array<number>(10).fill(4095);
      rig.run(4);
      expect(rig.fault, mode).toBe('none');
      rig.run(1);
      expect(rig.fault, mode).toBe('reading-saturated');
      expect(rig.trigger).toBe(false);
    }
  });

  it('takes saturation while striking for the no-load voltage that it is', () => {
    const rig = new Rig().strike();
    rig.plant = false;
    rig.counts = new Array<number>(10).fill(4095);
    rig.run(200);
    expect(rig.mode).toBe('strike');
    expect(rig.fault).toBe('none');
  });

  it('counts a tick as saturated only when half of its readings are', () => {
    const rig = new Rig({ spike_V: 0, arc_high_V: 400, crossing_rise_mm_per_s: 0, crossing_band_mm: 0 }).at('follow');
    const usual = countsOf(CUT_V);
    rig.counts = [4095, usual, 4095, usual, 4095, usual, 4095, usual, usual, usual];
    rig.run(60);
    expect(rig.fault).not.toBe('reading-saturated');
  });

  it('calls a reading that never changes for stuck_ms stuck, during the cut', () => {
    const rig = new Rig({ stuck_ms: 50 }).at('follow');
    rig.plant = false;
    rig.alive = false;
    // The last changing reading is one to two ticks old.
    rig.run(47);
    expect(rig.fault).toBe('none');
    rig.run(4);
    expect(rig.fault).toBe('reading-stuck');
  });

  it('does not watch for stuck readings with stuck_ms at 0', () => {
    const rig = new Rig({ stuck_ms: 0 }).at('follow');
    rig.plant = false;
    rig.alive = false;
    rig.run(2000);
    expect(rig.fault).toBe('none');
    expect(rig.state('stuck_readings')).toBe(10_000);
  });

  it('calls a negative voltage reversed leads', () => {
    const rig = new Rig().strike();
    rig.plant = false;
    rig.true_V = -11;
    rig.run(40);
    expect(rig.fault).toBe('reversed');
  });

  it('stands a little below zero without calling it reversed', () => {
    const rig = new Rig().strike();
    rig.plant = false;
    rig.true_V = -4;
    rig.run(100);
    expect(rig.mode).toBe('strike');
  });
});

describe('a rectifier’s ripple that is larger than spike_V', () => {
  /** Ripple of 30 V on the arc's voltage, and a spike now and then; what the mean and the mark for spikes show. */
  function rippled(mains_Hz: number, pulses: number, spike_V = 0): { swing_V: number; marked: number } {
    const rig = new Rig({ mains_Hz, spike_V: 15 });
    rig.alive = false;
    const seen: number[] = [];
    let marked = 0;
    for (let tick = 0; tick < 700; tick++) {
      rig.counts = Array.from({ length: 10 }, (_, i) => {
        const angle = (2 * Math.PI * mains_Hz * pulses * (tick * 10 + i)) / READINGS_HZ;
        const spike = spike_V !== 0 && tick % 37 === 20 && i < 3 ? spike_V : 0;
        return countsOf(CUT_V + 30 * Math.sin(angle) + spike);
      });
      rig.tick();
      if (tick < 200) continue;
      seen.push(rig.real(OUTPUT_MEASURED_V));
      if (rig.flag(FLAG_SPIKE)) marked++;
    }
    return { swing_V: Math.max(...seen) - Math.min(...seen), marked };
  }

  it.each([
    [50, 2],
    [50, 6],
    [60, 2],
    [60, 6],
  ])('at %i Hz, %i pulses a period, is no spike: the mean nulls it', (mains_Hz, pulses) => {
    const { swing_V, marked } = rippled(mains_Hz, pulses);
    expect(marked).toBe(0);
    // A mean of 83⅓ readings leaves some tenths of a per cent of it.
    expect(swing_V).toBeLessThan(0.3);
  });

  it('hides no spike of 150 V: it is marked and moves the mean by no more than the ripple that it replaces', () => {
    const { swing_V, marked } = rippled(50, 6, 150);
    expect(marked).toBeGreaterThan(10);
    // Three readings of a hundred, each up to 30 V from the mean; 150 V would be 4.5 V.
    expect(swing_V).toBeLessThan(2);
  });
});

describe('mains voltage that the leads pick up', () => {
  const PICKUP_V = 4;
  /** How far the measured voltage swings to either side in the last second. */
  const left_V = (mains_Hz: number, volts: (tick: number) => number, ticks = 3000): number => {
    const rig = new Rig({ spike_V: 0, mains_Hz });
    rig.alive = false;
    const seen: number[] = [];
    for (let tick = 0; tick < ticks; tick++) {
      rig.counts = Array.from({ length: 10 }, (_, i) =>
        countsOf(volts(tick) + PICKUP_V * Math.sin((2 * Math.PI * mains_Hz * (tick * 10 + i)) / READINGS_HZ)),
      );
      rig.tick();
      seen.push(rig.real(OUTPUT_MEASURED_V));
    }
    const last = seen.slice(-1000);
    return (Math.max(...last) - Math.min(...last)) / 2;
  };

  it.each([45, 50, 60, 65])('goes within seconds at %i Hz; the mean alone leaves two thirds', (mains_Hz) => {
    // A count is 0.1 V, a hundred of them are in the mean.
    expect(left_V(mains_Hz, () => CUT_V)).toBeLessThan(0.1);
  });

  it('is not mistaken for what an arc does that is struck', () => {
    // 0.3 s after a jump of no-load voltage and the fall to an arc.
    const struck = (tick: number) => (tick < 1500 ? 0 : tick < 1700 ? 280 : CUT_V);
    expect(left_V(50, struck, 3000)).toBeLessThan(0.2);
  });
});

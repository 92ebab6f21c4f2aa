/** The converter's readings of a ramp: what is found of a sound converter, of one with wide codes, and of those with a defect. */
import { describe, expect, it } from 'vitest';
import { Random } from '../../../sim/base/index.js';
import { readImage } from '../../../sim/link/index.js';
import { bringUpSteps, EmulatedBench, rampResult } from '../../../sim/run/bring-up/index.js';
import { loadImage, loadLoader } from '../../emulator/images.js';

const SWEEP_ms = 20_000;
const TAU_ms = 4700;

/** Readings of so many ramps up and down. @param convert what the converter makes of a voltage in counts */
function readings(convert: (exact: number) => number = (exact) => exact, noise_counts = 0.7, ramps = 3): number[] {
  const random = new Random(7);
  const noise = () => noise_counts * Math.sqrt(3) * random.between(-1, 1);
  return Array.from({ length: 2 * ramps * SWEEP_ms }, (_, n) => {
    const falls = Math.exp(-(n % SWEEP_ms) / TAU_ms);
    const exact = 4095 * (Math.floor(n / SWEEP_ms) % 2 === 0 ? 1 - falls : falls);
    return Math.min(4095, Math.max(0, Math.round(convert(exact + noise()))));
  });
}

/** Everything so near to this code reads as it. */
const wide = (code: number, width: number) => (exact: number) => (Math.abs(exact - code) < width / 2 ? code : exact);

describe('a ramp', () => {
  it('of a sound converter gives its noise, and codes as wide as any other', () => {
    const { verdict, figures, machine } = rampResult(readings());
    expect(verdict).toBe('passed');
    expect(figures.noise_counts).toBeCloseTo(0.7, 1);
    for (const code of [512, 1536, 2560, 3584])
      expect(Math.abs((figures[`width_at_${code}_counts`] as number) - 1)).toBeLessThan(
        2 * (figures.width_deviation_counts as number),
      );
    expect(machine).toEqual({
      'converter.noise_counts': figures.noise_counts,
      'converter.wide_counts': expect.any(Number),
    });
  });

  it.each([512, 1536, 2560, 3584])('finds a code near %i that is 9 counts wide, and offers that', (code) => {
    const { verdict, figures, machine } = rampResult(readings(wide(code - 1, 9)));
    expect(verdict).toBe('passed');
    expect(figures[`width_at_${code}_counts`]).toBeGreaterThan(7);
    expect(figures[`width_at_${code}_counts`]).toBeLessThan(11);
    expect(machine?.['converter.wide_counts']).toBeGreaterThan(7);
  });

  it.each([
    ['a code that is 16 counts wide', readings(wide(1536, 16)), /the campaigns try 9/],
    ['a bit that is stuck', readings((exact) => Math.round(exact) & ~8), /of the codes never came/],
    ['noise of 6 counts', readings(undefined, 6), /of noise/],
    ['a range of three quarters', readings((exact) => 0.75 * exact), /does not reach/],
    ['nothing but zero', readings(() => 0), /does not reach/],
  ])('finds %s', (_what, found, words) => {
    expect(rampResult(found)).toMatchObject({ verdict: 'failed', words: expect.stringMatching(words) });
  });
});

// 40 s of the board's time: here, so that it runs beside the other steps on an emulated board.
it('the step passes on the converter of a sound emulated board', async () => {
  const image = loadImage();
  const step = bringUpSteps(() => readImage(image, 'standoff.image')).find(({ name }) => name === 'converter')!;
  const bench = await EmulatedBench.start({ loader: loadLoader(), image });
  try {
    const { verdict, words, machine } = await step.run({ bench, count: step.counts.emulated, tell: () => {} });
    expect([verdict, words]).toEqual(['passed', expect.stringContaining('noise 0.')]);
    expect(machine?.['converter.noise_counts']).toBeCloseTo(0.7, 1);
  } finally {
    await bench.close();
  }
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FAULT_ROWS, type FaultKind } from '../../../sim/world/plant/index.js';
import { amount } from '../../support/volume.js';
import { CORNER, CROSSING, cut, STRAIGHT } from './cut.js';

/** Whole numbers shrink far better than fractions: hundredths of the unit. */
const hundredths = (low: number, high: number) => fc.integer({ min: low * 100, max: high * 100 }).map((n) => n / 100);
const RUNS = amount(60, 15);
const program = fc.constantFrom(STRAIGHT, CORNER, CROSSING);

const world = fc.record({
  'sheet.tilt_x': fc.integer({ min: -30, max: 30 }).map((n) => n / 1000),
  'sheet.tilt_y': fc.integer({ min: -30, max: 30 }).map((n) => n / 1000),
  'sheet.wave_mm': hundredths(0, 2.5),
  'sheet.wave_length_mm': fc.integer({ min: 250, max: 1000 }),
  'sheet.heat_growth_mm_per_s': hundredths(0, 0.1),
  'arc.slope_V_per_mm': hundredths(3, 5),
  'arc.feed_effect_V': hundredths(4, 9),
  'arc.crossing_V': hundredths(10, 30),
  'noise.white_V_rms_per_tick': hundredths(0.05, 1.2),
  'noise.ripple_V_peak': hundredths(0, 3),
  'noise.impulse_rate_per_s': fc.integer({ min: 0, max: 10 }),
});
const box = fc.record({
  gain_p_per_s: fc.integer({ min: 12, max: 35 }),
  gain_i_per_s2: fc.integer({ min: 40, max: 250 }),
  smoothing_ms: fc.integer({ min: 0, max: 8 }),
  reversal_um: fc.integer({ min: 0, max: 40 }),
  hold_carried: fc.constantFrom(0, 1),
  feed_effect_learned: fc.constantFrom(0, 1),
});
const seed = fc.integer({ min: 1, max: 1_000_000 });

describe('over random sheets, arcs, noise and gains', () => {
  it('every requirement is kept and the torch meets nothing', () => {
    fc.assert(
      fc.property(program, world, box, seed, (text, given_world, given_box, given_seed) => {
        const result = cut(text, { world: given_world, box: given_box, seed: given_seed });
        expect(result.broken).toEqual([]);
        expect(result.figures.contacts).toBe(0);
      }),
      { numRuns: RUNS, seed: 2026 },
    );
  });

  it('whatever part fails, and whenever, every requirement of the box is kept', () => {
    const kinds = FAULT_ROWS.map((row) => row.kind as FaultKind);
    const failing = fc.record({
      kind: fc.constantFrom(...kinds),
      at_s: fc.integer({ min: 0, max: 1400 }).map((n) => n / 100),
      for_s: fc.integer({ min: 1, max: 300 }).map((n) => n / 100),
    });
    fc.assert(
      fc.property(program, world, failing, seed, (text, given_world, fault, given_seed) => {
        const { broken } = cut(text, { world: given_world, faults: [fault], seed: given_seed });
        // A broken axis or a hand on the torch can bring the torch into contact whatever the box does.
        expect(broken.filter((requirement) => requirement !== 'no-contact')).toEqual([]);
      }),
      { numRuns: RUNS, seed: 2026 },
    );
  });

  it('whatever the operator does, and whenever, every requirement is kept', () => {
    const event = fc.record({
      at_s: fc.integer({ min: 0, max: 1400 }).map((n) => n / 100),
      line: fc.constantFrom(
        'key' as const,
        'request' as const,
        'stop-chain' as const,
        'hold' as const,
        'reset' as const,
      ),
      on: fc.boolean(),
    });
    const key = { at_s: 0.2, line: 'key', on: true } as const;
    fc.assert(
      fc.property(program, fc.array(event, { maxLength: 8 }), seed, (text, events, given_seed) => {
        const { broken } = cut(text, { operator: [key, ...events], seed: given_seed });
        expect(broken).toEqual([]);
      }),
      { numRuns: RUNS, seed: 2026 },
    );
  });

  it('whatever contact opens for a moment, once or often, every requirement is kept and no contour is struck twice', () => {
    const drop_out = fc.record({
      line: fc.constantFrom('key' as const, 'request' as const),
      at_ms: fc.integer({ min: 0, max: 14_000 }),
      off_ms: fc.integer({ min: 1, max: 40 }),
    });
    let ended = 0;
    fc.assert(
      fc.property(fc.array(drop_out, { minLength: 1, maxLength: 4 }), fc.boolean(), seed, (drop_outs, boot, n) => {
        const key = { at_s: boot ? 0 : 0.2, line: 'key', on: true } as const;
        const events = drop_outs.flatMap(({ line, at_ms, off_ms }) => [
          { at_s: at_ms / 1000, line, on: false },
          { at_s: (at_ms + off_ms) / 1000, line, on: true },
        ]);
        const { broken, figures, outcome } = cut(STRAIGHT, { operator: [key, ...events], seed: n });
        expect(broken).toEqual([]);
        const long = drop_outs.some(({ off_ms }) => off_ms >= 30);
        if (!long && drop_outs.length === 1) expect(figures.starts).toBeLessThanOrEqual(boot ? 0 : 1);
        if (outcome.ended !== 'finished') ended++;
      }),
      { numRuns: RUNS, seed: 2026 },
    );
    // Drop-outs that fell into no cut would have shown nothing.
    expect(ended).toBeGreaterThan(RUNS / 3);
  });
});

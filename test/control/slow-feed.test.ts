/** Slow contours: a small hole goes by touched height, and a kerf is told by the sheet that it implies. */
import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

/** 12.5 mm/s, a quarter of the target feed: 2 steps of 1/160 mm a tick. */
const SLOW_STEPS = 2;
/** A volt is a quarter of a millimetre. */
const V_PER_MM = 4;

/** In follow on a straight line, slowly, away from where the torch touched. */
function creeping(parameters: Readonly<Record<string, number>> = {}): Rig {
  const rig = new Rig({ feed_effect_V: 0, corner_fraction: 0, ...parameters }).at('follow');
  rig.x_steps = SLOW_STEPS;
  return rig.run(600);
}

/** The voltage rises by so much for each tick, as over the edge of a kerf. */
const rising = (rig: Rig, V_per_ms: number, ticks: number): Rig =>
  rig.run(ticks, () => {
    rig.extra_V += V_per_ms;
  });

describe('a small hole', () => {
  it('goes by touched height: half a millimetre that the voltage tells moves nothing', () => {
    const rig = new Rig({ feed_effect_V: 0 }).strike().until('settle');
    rig.x_steps = SLOW_STEPS;
    rig.until('follow');
    rig.extra_V = 0.5 * V_PER_MM;
    rig.run(120);
    expect(rig.mode).toBe('follow');
    expect(rig.standoff_mm).toBeCloseTo(1.5, 1);
  });

  it('is over 3.6 mm from where the torch touched: the voltage counts again', () => {
    const rig = creeping();
    rig.extra_V = 0.3 * V_PER_MM;
    rig.run(400);
    expect(rig.mode).toBe('follow');
    expect(rig.standoff_mm).toBeCloseTo(1.2, 1);
  });
});

describe('a crossing at low feed', () => {
  it('begins at what no sheet falls by, though the voltage rises slowly', () => {
    const rig = creeping();
    // 5 V over 1.25 mm: 1 mm of sheet for each mm of path; the fast rule wants 0.36 V/ms.
    rising(rig, 0.05, 100);
    expect(rig.mode).toBe('hold');
    // Half of cut height is left.
    expect(rig.standoff_mm).toBeGreaterThan(0.75);
  });

  it('lasts longer than crossing_ms where the torch creeps over it', () => {
    const rig = creeping({ crossing_ms: 100 });
    rising(rig, 0.05, 100).run(250);
    expect(rig).toMatchObject({ mode: 'hold', fault: 'none' });
  });

  it('is a false reading where it jumps, and ends after crossing_ms', () => {
    const rig = creeping({ crossing_ms: 100 });
    rig.extra_V = 30;
    rig.run(200);
    expect(rig.fault).toBe('crossing-long');
  });
});

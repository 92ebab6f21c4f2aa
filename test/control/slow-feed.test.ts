/** Slow contours: a small hole goes by touched height, and a kerf is told by the sheet that it implies. */
import { describe, expect, it } from 'vitest';
import { INPUT_HOLD } from '../../firmware/wire/layout.gen.js';
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

/** In follow in a small hole: to and fro within 1.3 mm. */
const inHole = (parameters: Readonly<Record<string, number>> = {}): Rig => {
  const rig = new Rig({ feed_effect_V: 0, corner_fraction: 0, ...parameters }).strike().until('settle');
  rig.x_steps = SLOW_STEPS;
  return rig.until('follow');
};

const toAndFro = (rig: Rig, ticks: number, each: () => void = () => {}): Rig =>
  rig.run(ticks, () => {
    if (rig.ticks % 100 === 0) rig.x_steps = -rig.x_steps;
    each();
  });

describe('a small hole', () => {
  it('is a crossing where the arc is longer by three quarters of a millimetre, however slowly it grew', () => {
    const rig = inHole();
    toAndFro(rig, 700, () => {
      if (rig.mode === 'follow') rig.extra_V += 0.005;
    });
    expect(rig.hold).toBe('crossing');
    expect(rig.extra_V / V_PER_MM).toBeGreaterThan(0.74);
    expect(rig.extra_V / V_PER_MM).toBeLessThan(0.8);
  });

  it('reaches 3.6 mm from where the torch touched', () => {
    const rig = inHole();
    rig.extra_V = 0.5 * V_PER_MM;
    for (let tick = 0; tick < 400 && rig.state('hole_x_mm') < 3.4; tick++) rig.tick();
    expect(rig.state('hole_x_mm')).toBeGreaterThanOrEqual(3.4);
    expect(rig.standoff_mm).toBeCloseTo(1.5, 1);
  });

  it('has no bound in path for a crossing: its own kerf is most of the way', () => {
    const rig = inHole({ crossing_path_mm: 1 });
    rig.extra_V = 4;
    toAndFro(rig, 200);
    expect(rig.hold).toBe('crossing');
  });

  it('rises in a hold where the voltage is low by more than the band', () => {
    const rig = inHole().on(INPUT_HOLD).run(10);
    const before_mm = rig.standoff_mm;
    rig.extra_V = -1.15 * V_PER_MM;
    toAndFro(rig, 500);
    expect(rig.mode).toBe('hold');
    expect(rig.standoff_mm - before_mm).toBeGreaterThan(0.3);
  });

  it('is none after 30 mm, as near as the torch may be', () => {
    expect(toAndFro(inHole(), 2000).state('hole_path_mm')).toBeGreaterThan(0);
    expect(toAndFro(inHole(), 3500).state('hole_path_mm')).toBe(0);
  });

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

  it('lasts no longer than crossing_ms where the torch stands', () => {
    const rig = creeping({ crossing_ms: 100 });
    rig.x_steps = 0;
    rising(rig.run(200), 0.05, 100);
    expect(rig.mode).toBe('hold');
    expect(rig.run(250).mode).not.toBe('hold');
  });

  it.each([2, 8, 15])('is a false reading where it jumps, and ends after crossing_ms: window %i ms', (window_ms) => {
    const rig = creeping({ crossing_ms: 100, crossing_window_ms: window_ms });
    rig.extra_V = 30;
    rig.run(200);
    expect(rig.fault).toBe('crossing-long');
  });
});

it('a crossing at full feed that the arc enters along its own kerf is a cliff too', () => {
  const rig = new Rig({ feed_effect_V: 0, corner_fraction: 0 }).at('follow').run(300);
  // 9 V in 30 ms: slower than the fast rule, and half a metre of sheet for each metre of path more than any sheet has.
  rising(rig, 0.3, 30);
  expect(rig.mode).toBe('hold');
  expect(rig.standoff_mm).toBeGreaterThan(1);
});

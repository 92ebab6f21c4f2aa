import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

/** Follows at this feed, of 160 steps to the millimetre, and has come to rest against a level sheet. */
function following(feed_mm_s: number, parameters: Readonly<Record<string, number>> = {}): Rig {
  const rig = new Rig({ corner_fraction: 0, feed_effect_V: 0, slope_limit: 0.5, ...parameters }).at('follow');
  rig.x_steps = Math.round(feed_mm_s * 0.16);
  return rig.run(500);
}

const climb = (rig: Rig, rise_mm_per_mm: number, ticks: number, eachTick = () => {}) =>
  rig.run(ticks, () => {
    // The table stops with the permit.
    if (rig.mode !== 'follow') rig.x_steps = 0;
    rig.sheet_mm += (rise_mm_per_mm * rig.x_steps) / 160;
    if (rig.mode === 'follow') eachTick();
  });

describe('a torch that falls while Z rises', () => {
  it.each([
    [17, 0.02, 0.65],
    [50, 0.05, 0.65],
    [80, 0.05, 0.5],
    [100, 0.1, 0.25],
  ])('at %d mm/s over a sheet of %d mm/mm is a wrong way above %d mm', (feed_mm_s, rise, least_mm) => {
    const rig = following(feed_mm_s);
    const before_mm = rig.standoff_mm;
    let standoff_mm = before_mm;
    climb(rig, rise, 1500, () => {
      // Z does the opposite of every step.
      rig.z_mm -= (2 * rig.z_steps) / 400;
      standoff_mm = rig.standoff_mm;
    });
    expect(rig.fault).toBe('wrong-way');
    expect(standoff_mm).toBeGreaterThan(least_mm);
    expect(standoff_mm).toBeLessThan(before_mm);
  });
});

describe('a sound axis goes no wrong way', () => {
  it('where the voltage falls at once, by up to 6 V, and stays there', () => {
    for (let drop_V = 0.25; drop_V <= 6; drop_V += 0.25) {
      const rig = following(50);
      rig.extra_V = -drop_V;
      rig.run(400);
      expect(rig.fault, `${drop_V} V`).toBe('none');
    }
  });

  it.each([10, 20, 50])('at %d mm/s while a double arc takes up to 20 V for up to 40 ms', (feed_mm_s) => {
    for (const drop_V of [6, 12, 20]) {
      for (const ticks of [20, 40]) {
        const rig = following(feed_mm_s);
        rig.extra_V = -drop_V;
        rig.run(ticks);
        rig.extra_V = 0;
        rig.run(300);
        expect(rig.fault, `${drop_V} V for ${ticks} ms`).not.toBe('wrong-way');
      }
    }
  });

  it.each([10, 30, 50])('at %d mm/s over a sheet that begins to rise by up to 0.3 mm/mm', (feed_mm_s) => {
    for (const rise of [0.05, 0.1, 0.2, 0.25, 0.3])
      expect(climb(following(feed_mm_s), rise, 300).fault, `${rise} mm/mm`).toBe('none');
  });

  it('at 100 mm/s over a sheet that begins to rise by up to 0.2 mm/mm', () => {
    for (const rise of [0.05, 0.1, 0.15, 0.2])
      expect(climb(following(100), rise, 80).fault, `${rise} mm/mm`).toBe('none');
  });

  it.each([0.2, 0.3, 0.6])('where a small gain has hardly moved it yet, with wrong_way_mm at %d', (wrong_way_mm) => {
    const rig = following(70, { gain_p_per_s: 5, wrong_way_mm });
    expect(climb(rig, 0.3, 300).fault).toBe('none');
  });

  it.each([4, 7, 10])('where the arc goes out %d ms after Z began to rise quickly', (ticks) => {
    const rig = following(50);
    rig
      .run(20, () => {
        rig.sheet_mm += 1.2 / 20;
      })
      .run(ticks);
    rig.arc_burns = false;
    expect(rig.run(60).fault).toBe('no-voltage');
  });
});

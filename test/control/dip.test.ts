// A double arc takes volts away for some milliseconds: Z waits for them.
import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

/** Follows at 50 mm/s, and has come to rest against the sheet. @param rise of the sheet, mm a tick */
function following(parameters: Readonly<Record<string, number>> = {}, rise = 0): Rig {
  const rig = new Rig({ corner_fraction: 0, feed_effect_V: 0, slope_limit: 0.5, ...parameters }).at('follow');
  rig.x_steps = 8;
  return rig.run(1500, () => {
    rig.sheet_mm += rise;
  });
}

/** @returns how far Z went up and down over so many ticks of a fall and some after it, mm */
function fall(rig: Rig, fall_V: number, ticks: number, after = 60, rise = 0) {
  const start_mm = rig.z_mm;
  let up_mm = 0;
  let down_mm = 0;
  const each = () => {
    rig.sheet_mm += rise;
    up_mm = Math.max(up_mm, rig.z_mm - start_mm);
    down_mm = Math.max(down_mm, start_mm - rig.z_mm);
  };
  rig.extra_V = -fall_V;
  rig.run(ticks, each);
  rig.extra_V = 0;
  rig.run(after, each);
  return { up_mm, down_mm };
}

describe('a dip of the voltage', () => {
  it.each([6, 12, 20])('of %d V for 5 to 20 ms moves Z by little', (fall_V) => {
    for (const ticks of [5, 10, 15, 20])
      expect(fall(following(), fall_V, ticks).up_mm, `${ticks} ms`).toBeLessThan(0.12);
  });

  it('that lasts is answered after 32 ms', () => {
    const rig = following();
    const early_mm = fall(rig, 4, 30, 0).up_mm;
    const late_mm = fall(rig, 4, 100, 0).up_mm;
    expect(early_mm).toBeLessThan(0.1);
    expect(late_mm).toBeGreaterThan(0.6);
  });

  it('is waited for as often as the volts come back', () => {
    const rig = following();
    for (let dip = 0; dip < 20; dip++) expect(fall(rig, 12, 15, 15).up_mm, `dip ${dip}`).toBeLessThan(0.12);
  });

  it('is not waited for again for 32 ms after one that lasted', () => {
    const rig = following();
    let waited = 0;
    // The voltage of an arc that falls and falls.
    for (let tick = 0; tick < 64 && rig.mode === 'follow'; tick++) {
      rig.extra_V -= 0.6;
      rig.tick();
      if (rig.state('dip_ms') > 0) waited++;
    }
    expect(waited).toBeGreaterThan(30);
    expect(waited).toBeLessThan(34);
  });

  it('lets Z go up along the slope, and not down', () => {
    const rise_mm = 0.004;
    const level = fall(following(), 12, 20);
    const rising = fall(following({}, rise_mm), 12, 20, 10, rise_mm);
    const falling = fall(following({}, -rise_mm), 12, 20, 0, -rise_mm);
    expect(rising.up_mm - level.up_mm).toBeGreaterThan(0.07);
    expect(falling.down_mm).toBeLessThan(0.04);
  });

  it('is no such thing for a regulator that looks for no crossings, nor right after one has ended', () => {
    expect(fall(following({ crossing_rise_mm_per_s: 0 }), 12, 20).up_mm).toBeGreaterThan(0.3);
    const rig = following();
    rig.extra_V = 20;
    rig.run(60);
    expect(rig.mode).toBe('hold');
    rig.extra_V = 0;
    rig.run(60, () => expect(rig.state('dip_ms')).toBe(0));
    expect(rig.mode).toBe('follow');
  });

  it('that is back is over with the window of a crossing, however little counts as a rise', () => {
    const rig = following({ crossing_rise_mm_per_s: 5 });
    let longest = 0;
    for (let tick = 0; tick < 40; tick++) {
      // Back within what a dip leaves, and then it rises on.
      rig.extra_V = tick < 4 ? -3 : -0.7 + 0.03 * (tick - 4);
      rig.tick();
      longest = Math.max(longest, rig.state('dip_ms'));
    }
    // 32, the tick in which it was back, and the 8 of the window.
    expect(longest).toBe(41);
    expect(rig.state('dip_ms')).toBe(0);
  });

  it('is no shallower than what a crossing leaves behind, however little counts as a rise', () => {
    const rig = following({ crossing_rise_mm_per_s: 5 });
    rig.extra_V = -0.6;
    rig.run(20, () => expect(rig.state('dip_ms')).toBe(0));
  });

  it('carries Z no higher than the ceiling', () => {
    const rise_mm = 0.004;
    const below = fall(following({}, rise_mm), 12, 20, 0, rise_mm);
    expect(below.up_mm).toBeGreaterThan(0.07);
    // With so short a path the ceiling is far below where Z has got to.
    const rig = following({}, rise_mm).disturb('cut_path_mm', 0);
    expect(fall(rig, 12, 20, 0, rise_mm).up_mm).toBeLessThan(0.03);
  });

  it('in a corner is over after 32 ms there, too: the feed effect that grows then is no crossing', () => {
    const rig = following({ corner_fraction: 0.8 });
    rig.extra_V = -12;
    rig.run(4);
    expect(rig.state('dip_ms')).toBeGreaterThan(0);
    rig.x_steps = 3;
    rig.until('hold', undefined, 100);
    expect(rig.state('dip_ms')).toBeGreaterThan(0);
    rig.run(34);
    expect(rig.state('dip_ms')).toBe(0);
  });
});

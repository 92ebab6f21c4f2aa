import { describe, expect, it } from 'vitest';
import { OUTPUT_FEED_EFFECT_V, OUTPUT_Z_VELOCITY_MM_S } from '../../firmware/wire/layout.gen.js';
import { CUT_V, Desk, NO_LOAD_V, SLOPE_V_PER_MM } from './bench.js';

/** Following at 50 mm/s along X, long enough for the running feed to be known. */
const following = (parameters: Readonly<Record<string, number>> = {}): Desk =>
  new Desk({ feed_effect_V: 0, ...parameters }).at('follow').run(600);

/** Sets the feed along X in steps a tick; 8 is 50 mm/s. */
const feed = (desk: Desk, steps: number): Desk => {
  desk.x_steps = steps;
  return desk;
};

/** Steps of a hold that has just begun, with the tick that began it and the one that ends it. */
function ticksOfHold(desk: Desk, most = 5000): number {
  for (let n = 2; n < most; n++) if (desk.tick().mode !== 'hold') return n;
  return Number.POSITIVE_INFINITY;
}

describe('a corner', () => {
  it('holds when the feed falls under corner_fraction of the running feed, and lets go on half the way back', () => {
    const desk = following({ corner_fraction: 0.9 });
    // 7.3 steps a tick would be 0.9125: feeds are made of whole steps here, 8 8 8 7.
    desk.run(400, () => feed(desk, desk.ticks % 4 === 0 ? 7 : 8));
    expect(desk.mode).toBe('follow');
    feed(desk, 4).until('hold', 'none', 30);
    expect(desk.hold).toBe('corner');
    feed(desk, 8).until('follow', 'none', 60);
    // 0.95 of 50 mm/s, as the box sees the feed.
    expect(desk.state('feed_mm_s')).toBeGreaterThanOrEqual(0.95 * desk.state('running_mm_s') - 0.5);
  });

  it('ends after corner_path_mm', () => {
    const desk = following({ corner_path_mm: 2 });
    feed(desk, 5).until('hold');
    // 5 steps of 1/160 mm a tick: 64 ticks for 2 mm, fewer while the filtered feed is still falling from 50 mm/s.
    const ticks = ticksOfHold(desk);
    expect(ticks).toBeLessThanOrEqual(64);
    expect(ticks).toBeGreaterThan(64 - 12 * 0.6);
    expect(desk.state('hold_path_mm')).toBeGreaterThanOrEqual(2);
    expect(desk.state('running_mm_s')).toBeLessThan(45);
  });

  it('ends when the feed is steady at a new level, which becomes the running feed', () => {
    const desk = following({ corner_path_mm: 50 });
    feed(desk, 4).until('hold');
    expect(ticksOfHold(desk)).toBeLessThan(600);
    expect(desk.state('running_mm_s')).toBeCloseTo(25, -1);
    desk.run(1000, () => expect(desk.mode).toBe('follow'));
  });

  it('lasts as long as the table stands', () => {
    const desk = following();
    feed(desk, 0).until('hold');
    desk.run(3000, () => expect(desk.hold).toBe('corner'));
  });

  it('is not watched with corner_fraction at 0', () => {
    const desk = following({ corner_fraction: 0 });
    feed(desk, 2).run(200, () => expect(desk.mode).toBe('follow'));
  });

  it('is told from the feed to which the running feed has come down', () => {
    const desk = following();
    const follows = (ticks: number, ...steps: readonly number[]) =>
      desk.run(ticks, () => {
        feed(desk, steps[desk.ticks % steps.length]);
        expect(desk.mode).toBe('follow');
      });
    // To 92.5 % of 50 mm/s; after a jolt, which is not steady, to 87.5 %, which is 92 % of what the feed is now.
    follows(600, 7, 8, 7, 8, 7);
    follows(8, 9);
    follows(600, 7);
  });

  it('is none when a cut below 2 mm/s stops: nothing so slow is a running feed', () => {
    const desk = new Desk().strike().until('settle');
    // A step in four ticks at 160 steps/mm: 1.56 mm/s.
    desk.run(2000, () => feed(desk, desk.ticks % 4 === 0 ? 1 : 0));
    expect(desk.mode).toBe('follow');
    feed(desk, 0).run(300, () => expect(desk.mode).toBe('follow'));
  });

  it('teaches the size of the feed effect: voltage against slowness at constant standoff', () => {
    // The bench's arc rises by 10 V at standstill, through the same lag as the box believes in.
    const desk = new Desk({ feed_effect_V: 4, feed_effect_ms: 20 });
    const corner = (steps: number, ticks: number) => {
      desk.x_steps = steps;
      desk.run(ticks, () => {
        desk.extra_V = 10 * desk.state('slowness');
      });
    };
    desk.ready().touchOff();
    desk.until('settle');
    desk.extra_V = 10;
    corner(8, 800);
    for (let i = 0; i < 6; i++) {
      corner(1, 120);
      corner(8, 500);
    }
    expect(desk.real(OUTPUT_FEED_EFFECT_V)).toBeGreaterThan(8);
    expect(desk.real(OUTPUT_FEED_EFFECT_V)).toBeLessThan(11);
  });

  it.each([
    ['by half of what it says', { feed_effect_V: 8 }, 20, 14],
    ['never below 0', { feed_effect_V: 8 }, -30, 0],
    // 48 V above the target: half of the 12 V between would be 42 V.
    ['never above 40 V', { feed_effect_V: 36, target_V: CUT_V - 28 }, 20, 40],
  ] as const)('is not all that teaches: the standstill at the start does, %s', (_, parameters, extra_V, after_V) => {
    // Just below the no-load voltage, so that what is measured can be an arc's.
    const desk = new Desk({ ...parameters, transfer_V: NO_LOAD_V - 1 }).at('lower');
    desk.extra_V = extra_V;
    desk.until('settle');
    // The torch is at cut height to a few hundredths of a millimetre, the mean 10 ms behind.
    expect(Math.abs(desk.real(OUTPUT_FEED_EFFECT_V) - after_V)).toBeLessThan(0.5);
  });

  it('teaches nothing with feed_effect_learned at 0, or when the slowness was hardly there', () => {
    for (const [parameters, steps, ticks] of [
      [{ feed_effect_learned: 0, feed_effect_V: 4 }, 1, 200],
      [{ feed_effect_learned: 1, feed_effect_V: 4 }, 6, 8],
    ] as const) {
      const desk = new Desk(parameters).at('follow').run(600);
      const before = desk.real(OUTPUT_FEED_EFFECT_V);
      desk.extra_V = 3;
      feed(desk, steps).run(ticks);
      feed(desk, 8).run(300);
      expect(desk.real(OUTPUT_FEED_EFFECT_V)).toBe(before);
    }
  });
});

describe('a kerf crossing', () => {
  it('is seen by the rise of the voltage, before the band is reached', () => {
    const desk = following({ crossing_band_mm: 0 });
    desk.extra_V = 10;
    desk.until('hold', 'none', 25);
    expect(desk.hold).toBe('crossing');
  });

  it('is seen by a rise over the whole of crossing_window_ms', () => {
    for (const [V_per_ms, mode] of [
      [0.3, 'follow'],
      [0.55, 'hold'],
    ] as const) {
      // 90 mm/s at 4 V/mm is 0.36 V/ms; Z takes back 0.04 V/ms at most. Over half the window 0.55 would pass for 0.28.
      const desk = following({ crossing_window_ms: 2, crossing_band_mm: 0 });
      desk.run(30, () => {
        desk.extra_V += V_per_ms;
      });
      expect(desk.mode).toBe(mode);
    }
  });

  it('is seen by the band when the rise is slow', () => {
    const desk = following({ crossing_rise_mm_per_s: 0, crossing_band_mm: 1, gain_p_per_s: 1, gain_i_per_s2: 0 });
    for (let i = 0; i < 200 && desk.mode === 'follow'; i++) {
      desk.extra_V += 0.05;
      desk.tick();
    }
    expect(desk.hold).toBe('crossing');
    expect(desk.extra_V).toBeGreaterThan(SLOPE_V_PER_MM);
  });

  it('is not watched for with rise and band at 0', () => {
    const desk = following({ crossing_rise_mm_per_s: 0, crossing_band_mm: 0, wrong_way_mm: 5 });
    desk.extra_V = 14;
    desk.run(60, () => expect(desk.mode).toBe('follow'));
  });

  it('is over when the voltage is back for four ticks, and Z has not gone down for it', () => {
    const desk = following();
    const z_mm = desk.z_mm;
    desk.extra_V = 25;
    desk.until('hold').run(40);
    desk.extra_V = 0;
    desk.until('follow', 'none', 30).run(200);
    expect(Math.abs(desk.z_mm - z_mm)).toBeLessThan(0.05);
    expect(desk.fault).toBe('none');
  });

  it('that turns out to be a corner goes on as one', () => {
    const desk = following();
    desk.extra_V = 25;
    desk.until('hold').run(20);
    feed(desk, 2).run(40);
    desk.extra_V = 0;
    desk.run(40);
    expect(desk.hold).toBe('corner');
  });

  it('in the middle of a corner becomes the cause of the hold', () => {
    const desk = following();
    feed(desk, 2).until('hold').run(30);
    expect(desk.hold).toBe('corner');
    desk.extra_V = 25;
    desk.run(25);
    expect(desk.hold).toBe('crossing');
  });

  it.each([
    ['crossing_ms', { crossing_ms: 200, crossing_path_mm: 50 }, 200],
    ['crossing_path_mm', { crossing_ms: 2000, crossing_path_mm: 5 }, 100],
  ])('is bounded by %s; steady inside the window the regulator resumes at limited speed', (_, bounds, ticks) => {
    const desk = following(bounds);
    desk.extra_V = 10;
    desk.until('hold');
    // f32 sums of a twentieth of a millimetre may take one tick more.
    expect(Math.abs(ticksOfHold(desk) - ticks)).toBeLessThanOrEqual(1);
    let fastest = 0;
    for (let i = 0; i < 490; i++) {
      desk.tick();
      expect(desk.hold).toBe('limited');
      fastest = Math.min(fastest, desk.real(OUTPUT_Z_VELOCITY_MM_S));
    }
    expect(fastest).toBeGreaterThanOrEqual(-2 - 1e-5);
    expect(fastest).toBeLessThan(-1.5);
    desk.run(30);
    expect(desk.hold).not.toBe('limited');
  });

  it('that is steady without any rise watched resumes as well', () => {
    const desk = following({ crossing_rise_mm_per_s: 0, crossing_ms: 200, crossing_path_mm: 50 });
    desk.extra_V = 20;
    desk.until('hold');
    desk.extra_V = 10;
    desk.until('follow', 'none', 210);
    expect(desk.hold).toBe('none');
    desk.tick();
    expect(desk.hold).toBe('limited');
  });

  it('whose voltage is still rising at the bound, or outside the window, is too long', () => {
    const rising = following({ crossing_ms: 60, arc_high_V: 400, crossing_window_ms: 2 });
    while (rising.mode !== 'fault' && rising.ticks < 60_000) {
      rising.extra_V += 1;
      rising.tick();
    }
    expect(rising.fault).toBe('crossing-long');
    const outside = following({ crossing_ms: 100, arc_off_ms: 1000 });
    outside.extra_V = 100;
    outside.until('fault');
    expect(outside.fault).toBe('crossing-long');
    expect(outside.permit || outside.trigger).toBe(false);
  });

  it('after which the arc still seems longer than the band is too long: no sheet falls away that fast', () => {
    const desk = following({ crossing_ms: 200, crossing_path_mm: 50 });
    desk.extra_V = 20;
    desk.until('fault');
    expect(desk.fault).toBe('crossing-long');
  });
});

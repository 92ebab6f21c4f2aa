import { describe, expect, it } from 'vitest';
import { OUTPUT_FEED_EFFECT_V, OUTPUT_Z_VELOCITY_MM_S } from '../../firmware/wire/layout.gen.js';
import { CUT_V, NO_LOAD_V, Rig, SLOPE_V_PER_MM } from './rig.js';

/** Following at 50 mm/s along X, long enough for the running feed to be known. */
const following = (parameters: Readonly<Record<string, number>> = {}): Rig =>
  new Rig({ feed_effect_V: 0, ...parameters }).at('follow').run(600);

/** Sets the feed along X in steps a tick; 8 is 50 mm/s. */
const feed = (rig: Rig, steps: number): Rig => {
  rig.x_steps = steps;
  return rig;
};

/** Steps of a hold that has just begun, with the tick that began it and the one that ends it. */
function ticksOfHold(rig: Rig, most = 5000): number {
  for (let n = 2; n < most; n++) if (rig.tick().mode !== 'hold') return n;
  return Number.POSITIVE_INFINITY;
}

describe('a corner', () => {
  it('holds when the feed falls under corner_fraction of the running feed, and lets go on half the way back', () => {
    const rig = following({ corner_fraction: 0.9 });
    // 7.3 steps a tick would be 0.9125: feeds are made of whole steps here, 8 8 8 7.
    rig.run(400, () => feed(rig, rig.ticks % 4 === 0 ? 7 : 8));
    expect(rig.mode).toBe('follow');
    feed(rig, 4).until('hold', 'none', 30);
    expect(rig.hold).toBe('corner');
    feed(rig, 8).until('follow', 'none', 60);
    // 0.95 of 50 mm/s, as the box sees the feed.
    expect(rig.state('feed_mm_s')).toBeGreaterThanOrEqual(0.95 * rig.state('running_mm_s') - 0.5);
  });

  it('ends after corner_path_mm', () => {
    const rig = following({ corner_path_mm: 2 });
    feed(rig, 5).until('hold');
    // 5 steps of 1/160 mm a tick: 64 ticks for 2 mm, fewer while the filtered feed is still falling from 50 mm/s.
    const ticks = ticksOfHold(rig);
    expect(ticks).toBeLessThanOrEqual(64);
    expect(ticks).toBeGreaterThan(64 - 12 * 0.6);
    expect(rig.state('hold_path_mm')).toBeGreaterThanOrEqual(2);
    expect(rig.state('running_mm_s')).toBeLessThan(45);
  });

  it('ends when the feed is steady at a new level, which becomes the running feed', () => {
    const rig = following({ corner_path_mm: 50 });
    feed(rig, 4).until('hold');
    expect(ticksOfHold(rig)).toBeLessThan(600);
    expect(rig.state('running_mm_s')).toBeCloseTo(25, -1);
    rig.run(1000, () => expect(rig.mode).toBe('follow'));
  });

  it('lasts as long as the table stands', () => {
    const rig = following();
    feed(rig, 0).until('hold');
    rig.run(3000, () => expect(rig.hold).toBe('corner'));
  });

  it('is seen before the feed has been steady for a while', () => {
    const rig = new Rig({ feed_effect_V: 0 }).strike().until('settle');
    feed(rig, 8).until('follow').run(200);
    feed(rig, 2).until('hold', 'none', 40);
    expect(rig.hold).toBe('corner');
  });

  it('lasts as long as the table creeps: below 2 mm/s nothing is a new level', () => {
    const rig = following({ x_steps_per_mm: 640 });
    feed(rig, 1).until('hold');
    rig.run(1500, () => expect(rig.hold).toBe('corner'));
  });

  it('is not watched with corner_fraction at 0', () => {
    const rig = following({ corner_fraction: 0 });
    feed(rig, 2).run(200, () => expect(rig.mode).toBe('follow'));
  });

  it('is told from the feed to which the running feed has come down', () => {
    const rig = following();
    const follows = (ticks: number, ...steps: readonly number[]) =>
      rig.run(ticks, () => {
        feed(rig, steps[rig.ticks % steps.length]);
        expect(rig.mode).toBe('follow');
      });
    // To 92.5 % of 50 mm/s; after a jolt, which is not steady, to 87.5 %, which is 92 % of what the feed is now.
    follows(600, 7, 8, 7, 8, 7);
    follows(8, 9);
    follows(600, 7);
  });

  it('is none when a cut below 2 mm/s stops: nothing so slow is a running feed', () => {
    const rig = new Rig().strike().until('settle');
    // A step in four ticks at 160 steps/mm: 1.56 mm/s.
    rig.run(2000, () => feed(rig, rig.ticks % 4 === 0 ? 1 : 0));
    expect(rig.mode).toBe('follow');
    feed(rig, 0).run(300, () => expect(rig.mode).toBe('follow'));
  });

  it('teaches the size of the feed effect: voltage against slowness at constant standoff', () => {
    // The rig's arc rises by 10 V at standstill, through the same lag as the box believes in.
    const rig = new Rig({ feed_effect_V: 4, feed_effect_ms: 20 });
    const corner = (steps: number, ticks: number) => {
      rig.x_steps = steps;
      rig.run(ticks, () => {
        rig.extra_V = 10 * rig.state('slowness');
      });
    };
    rig.ready().touchOff();
    rig.until('settle');
    rig.extra_V = 10;
    corner(8, 800);
    for (let i = 0; i < 6; i++) {
      corner(1, 120);
      corner(8, 500);
    }
    expect(rig.real(OUTPUT_FEED_EFFECT_V)).toBeGreaterThan(8);
    expect(rig.real(OUTPUT_FEED_EFFECT_V)).toBeLessThan(11);
  });

  it.each([
    ['by half of what it says', { feed_effect_V: 8 }, 20, 14],
    ['never below 0', { feed_effect_V: 8 }, -30, 0],
    // 48 V above the target: half of the 12 V between would be 42 V.
    ['never above 40 V', { feed_effect_V: 36, target_V: CUT_V - 28 }, 20, 40],
  ] as const)('is not all that teaches: the standstill at the start does, %s', (_, parameters, extra_V, after_V) => {
    // Just below the no-load voltage, so that what is measured can be an arc's.
    const rig = new Rig({ ...parameters, transfer_V: NO_LOAD_V - 1 }).at('lower');
    rig.extra_V = extra_V;
    rig.until('settle');
    // The torch is at cut height to a few hundredths of a millimetre, the mean 10 ms behind.
    expect(Math.abs(rig.real(OUTPUT_FEED_EFFECT_V) - after_V)).toBeLessThan(0.5);
  });

  it('teaches nothing with feed_effect_learned at 0, or when the slowness was hardly there', () => {
    for (const [parameters, steps, ticks] of [
      [{ feed_effect_learned: 0, feed_effect_V: 4 }, 1, 200],
      [{ feed_effect_learned: 1, feed_effect_V: 4 }, 6, 8],
    ] as const) {
      const rig = new Rig(parameters).at('follow').run(600);
      const before = rig.real(OUTPUT_FEED_EFFECT_V);
      rig.extra_V = 3;
      feed(rig, steps).run(ticks);
      feed(rig, 8).run(300);
      expect(rig.real(OUTPUT_FEED_EFFECT_V)).toBe(before);
    }
  });
});

describe('a kerf crossing', () => {
  it('is seen by the rise of the voltage, before the band is reached', () => {
    const rig = following({ crossing_band_mm: 0 });
    rig.extra_V = 10;
    rig.until('hold', 'none', 25);
    expect(rig.hold).toBe('crossing');
  });

  it('is seen by a rise over the whole of crossing_window_ms', () => {
    for (const [V_per_ms, mode] of [
      [0.3, 'follow'],
      [0.55, 'hold'],
    ] as const) {
      // 90 mm/s at 4 V/mm is 0.36 V/ms; Z takes back 0.04 V/ms at most. Over half the window 0.55 would pass for 0.28.
      // So short that over the path it is no cliff.
      const rig = feed(following({ crossing_window_ms: 2, crossing_band_mm: 0 }), 40).run(300);
      rig.run(12, () => {
        rig.extra_V += V_per_ms;
      });
      expect(rig.mode).toBe(mode);
    }
  });

  it('is not what the leads pick up of the mains: 4 V of 50 Hz, of which the mean keeps 2.5', () => {
    const rig = following();
    const pickUp = (ticks: number): number => {
      let held = 0;
      rig.run(ticks, () => {
        rig.extra_V = 4 * Math.sin((2 * Math.PI * rig.ticks) / 20);
        if (rig.mode === 'hold') held++;
      });
      return held;
    };
    // It is there before a cut begins. One that begins in a cut is a crossing until the box follows it.
    expect(pickUp(200)).toBeLessThan(100);
    expect(pickUp(800)).toBe(0);
    rig.run(20, () => {
      rig.extra_V = 15 + 4 * Math.sin((2 * Math.PI * rig.ticks) / 20);
    });
    expect(rig.hold).toBe('crossing');
  });

  it('is seen by the band when the rise is slow', () => {
    const rig = following({ crossing_rise_mm_per_s: 0, crossing_band_mm: 1, gain_p_per_s: 1, gain_i_per_s2: 0 });
    for (let i = 0; i < 200 && rig.mode === 'follow'; i++) {
      rig.extra_V += 0.05;
      rig.tick();
    }
    expect(rig.hold).toBe('crossing');
    expect(rig.extra_V).toBeGreaterThan(SLOPE_V_PER_MM);
  });

  it('is not watched for with rise and band at 0', () => {
    const rig = following({ crossing_rise_mm_per_s: 0, crossing_band_mm: 0, wrong_way_mm: 5 });
    rig.extra_V = 14;
    rig.run(60, () => expect(rig.mode).toBe('follow'));
  });

  it('is over when the voltage is back for four ticks, and Z has not gone down for it', () => {
    const rig = following();
    const z_mm = rig.z_mm;
    rig.extra_V = 25;
    rig.until('hold').run(40);
    rig.extra_V = 0;
    let back = 0;
    for (; rig.mode === 'hold'; rig.tick()) back = rig.state('crossing_back_ms');
    expect([rig.mode, back]).toEqual(['follow', 3]);
    rig.run(200);
    expect(Math.abs(rig.z_mm - z_mm)).toBeLessThan(0.05);
    expect(rig.fault).toBe('none');
  });

  it('that turns out to be a corner goes on as one', () => {
    const rig = following();
    rig.extra_V = 25;
    rig.until('hold').run(20);
    feed(rig, 2).run(40);
    rig.extra_V = 0;
    rig.run(40, () => expect(rig.mode).toBe('hold'));
    expect(rig.hold).toBe('corner');
  });

  it('in the middle of a corner becomes the cause of the hold', () => {
    const rig = following();
    feed(rig, 2).until('hold').run(30);
    expect(rig.hold).toBe('corner');
    rig.extra_V = 25;
    rig.run(25);
    expect(rig.hold).toBe('crossing');
  });

  it.each([
    ['crossing_ms', { crossing_ms: 200, crossing_path_mm: 50 }, 200],
    ['crossing_path_mm', { crossing_ms: 2000, crossing_path_mm: 5 }, 100],
  ])('is bounded by %s; steady inside the window the regulator resumes at limited speed', (_, bounds, ticks) => {
    const rig = following(bounds);
    rig.extra_V = 10;
    rig.until('hold');
    // f32 sums of a twentieth of a millimetre may take one tick more.
    expect(Math.abs(ticksOfHold(rig) - ticks)).toBeLessThanOrEqual(1);
    let fastest = 0;
    for (let i = 0; i < 490; i++) {
      rig.tick();
      expect(rig.hold).toBe('limited');
      fastest = Math.min(fastest, rig.real(OUTPUT_Z_VELOCITY_MM_S));
    }
    expect(fastest).toBeGreaterThanOrEqual(-2 - 1e-5);
    expect(fastest).toBeLessThan(-1.5);
    rig.run(30);
    expect(rig.hold).not.toBe('limited');
  });

  it('that is steady without any rise watched resumes as well', () => {
    const rig = following({ crossing_rise_mm_per_s: 0, crossing_ms: 200, crossing_path_mm: 50 });
    rig.extra_V = 20;
    rig.until('hold');
    rig.extra_V = 10;
    rig.until('follow', 'none', 210);
    expect(rig.hold).toBe('none');
    rig.tick();
    expect(rig.hold).toBe('limited');
    // Nor does it begin again while Z goes down slowly.
    rig.extra_V = 20;
    rig.run(20, () => expect(rig.hold).toBe('limited'));
  });

  it('that is believable in size but still rises at the bound is too long', () => {
    const rig = following({ crossing_ms: 60, crossing_window_ms: 2 });
    rig.extra_V = 6;
    rig.until('hold', 'none', 30).run(50);
    // 11.5 V are 2.9 mm, within the band; 0.55 V/ms are more than 90 mm/s.
    rig.extra_V = 11.5;
    rig.run(15);
    expect(rig.fault).toBe('crossing-long');
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
    const rig = following({ crossing_ms: 200, crossing_path_mm: 50 });
    rig.extra_V = 20;
    rig.until('fault');
    expect(rig.fault).toBe('crossing-long');
  });
});

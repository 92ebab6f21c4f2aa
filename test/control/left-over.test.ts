// What one contour, strike or hold must not leave to the next.
import { describe, expect, it } from 'vitest';
import { INPUT_HOLD, INPUT_OVERRUN, INPUT_REQUEST, INPUT_RESET } from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

/** Steps of X in a tick for a feed. */
const FAST = 12;
const SLOW = 4;
const HOLE = 2;

/** A contour that has followed for a while, and the next one at cut height. */
function second(rig: Rig, followed: (rig: Rig) => void): Rig {
  followed(rig);
  rig.x_steps = 0;
  rig.off(INPUT_REQUEST).until('rest').run(600);
  return rig.on(INPUT_REQUEST).until('settle');
}

describe('the second contour', () => {
  it('is no corner of the first, although it is slower', () => {
    const rig = second(new Rig(), (one) => {
      one.strike().until('settle');
      one.x_steps = FAST;
      one.until('follow').run(400);
    });
    rig.x_steps = SLOW;
    rig.until('follow');
    const holds = new Set<string>();
    rig.run(120, () => holds.add(rig.hold));
    expect([...holds]).toEqual(['none']);
  });

  it('begins without the speed that Z had at the end of the first', () => {
    const falls = (rig: Rig, ticks: number) =>
      rig.run(ticks, () => {
        rig.sheet_mm -= 0.003;
      });
    const rig = second(new Rig(), (one) => {
      falls(one.cutting(), 600);
      expect(one.state('integral_mm_s')).toBeGreaterThan(2);
    });
    rig.x_steps = 8;
    rig.until('follow');
    expect(Math.abs(rig.state('integral_mm_s'))).toBeLessThan(0.3);
  });

  it('may be a small hole, wherever the first ended', () => {
    const rig = second(new Rig(), (one) => {
      one.strike().until('settle');
      one.x_steps = HOLE;
      one.until('follow').run(600);
      expect(one.state('hole_path_mm')).toBe(0);
    });
    rig.x_steps = HOLE;
    rig.until('follow').run(50);
    expect(rig.state('hole_path_mm')).toBeGreaterThan(0);
  });
});

describe('a hold', () => {
  it('begins the check for a wrong way again', () => {
    const rig = new Rig().cutting().run(100).on(INPUT_HOLD).run(2);
    expect(rig.mode).toBe('follow');
    rig.disturb('wrong_ms', 24).tick();
    expect([rig.mode, rig.state('wrong_ms')]).toEqual(['hold', 0]);
  });

  it('has the whole of corner_path_mm again', () => {
    const rig = new Rig({ feed_effect_V: 0, corner_path_mm: 2 }).cutting().run(600);
    for (let corner = 0; corner < 2; corner++) {
      rig.x_steps = 5;
      rig.until('hold', 'none', 60);
      const from = rig.ticks;
      rig.until('follow', 'none', 100);
      // 31 mm/s.
      expect(rig.ticks - from).toBeGreaterThan(50);
      rig.x_steps = 8;
      rig.run(600);
    }
  });

  it('has the whole of crossing_path_mm again', () => {
    const rig = new Rig({ feed_effect_V: 0, crossing_path_mm: 5 }).cutting().run(600);
    for (let crossing = 0; crossing < 2; crossing++) {
      rig.extra_V = 10;
      rig.until('hold', 'none', 30).run(70, () => expect(rig.hold).toBe('crossing'));
      rig.extra_V = 0;
      rig.until('follow', 'none', 30).run(100);
    }
  });

  it('is over by the peak of its own crossing: 8 % of 25 V, but 0.8 V after 10', () => {
    const rig = new Rig({ feed_effect_V: 0 }).cutting().run(600);
    rig.extra_V = 25;
    rig.until('hold', 'none', 30).run(30);
    rig.extra_V = 1.5;
    rig.until('follow', 'none', 30);
    rig.extra_V = 0;
    rig.run(200);
    rig.extra_V = 10;
    rig.until('hold', 'none', 30).run(30);
    rig.extra_V = 1.5;
    rig.run(60, () => expect(rig.hold).toBe('crossing'));
  });

  it('learns of the feed effect from its own corner alone', () => {
    const rig = new Rig({ feed_effect_V: 4 }).cutting().run(600);
    for (let corner = 0; corner < 2; corner++) {
      rig.x_steps = 1;
      rig.until('hold', 'none', 60);
      expect([rig.state('effect_square'), rig.state('effect_product')]).toEqual([0, 0]);
      rig.run(120);
      expect(rig.state('effect_square')).toBeGreaterThan(4);
      rig.x_steps = 8;
      rig.until('follow').run(400);
    }
  });
});

describe('a reset', () => {
  it('forgets the permit: motion under a later fault at rest is nobody’s', () => {
    const rig = new Rig({ stray_ms: 300 }).at('follow');
    rig.arc_burns = false;
    rig.until('fault');
    rig.x_steps = 0;
    rig.off(INPUT_REQUEST).until('fault', 'wait').run(600).on(INPUT_RESET).run(2).off(INPUT_RESET);
    rig.until('rest', 'none', 10).on(INPUT_REQUEST, INPUT_OVERRUN).run(2);
    rig.x_steps = 8;
    rig.run(1000);
    expect([rig.fault, rig.latched]).toEqual(['overrun', false]);
  });
});

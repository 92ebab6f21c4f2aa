import { describe, expect, it } from 'vitest';
import { INPUT_REQUEST } from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

describe('settle', () => {
  /** The permit is given, and the table stands. */
  const standing = (parameters: Readonly<Record<string, number>> = {}) => new Rig(parameters).strike().until('settle');

  it('waits for motion as long as the voltage stays, is back in time, or falls', () => {
    const rig = standing().run(1000);
    rig.extra_V = 30;
    rig.run(395);
    rig.extra_V = 0;
    rig.run(50);
    rig.extra_V = 30;
    rig.run(395);
    // By less than up_band_mm: more would raise the torch.
    rig.extra_V = -5;
    rig.run(1000);
    expect(rig).toMatchObject({ mode: 'settle', fault: 'none', permit: true });
    rig.extra_V = 0;
    rig.x_steps = 8;
    rig.until('follow', 'none', 200);
  });

  it('ends the cut after crossing_ms of a voltage 12 V above that with which the torch came to stand', () => {
    const rig = standing({ crossing_ms: 200 }).run(100);
    rig.extra_V = 11;
    rig.run(500);
    expect(rig.mode).toBe('settle');
    rig.extra_V = 13;
    rig.run(199);
    expect(rig).toMatchObject({ mode: 'settle', permit: true });
    rig.run(15);
    expect(rig).toMatchObject({ mode: 'fault', fault: 'crossing-long', permit: false, trigger: false });
  });

  it('goes by what the voltage has fallen to while it waited', () => {
    const rig = new Rig();
    rig.extra_V = 15;
    rig.strike().until('settle');
    rig.extra_V = 0;
    rig.run(500);
    expect(rig.mode).toBe('settle');
    rig.extra_V = 14;
    rig.run(450);
    expect(rig.fault).toBe('crossing-long');
  });

  it.each([
    [-1, 'none'],
    [1, 'crossing-long'],
  ])('believes no more than target, band and feed effect say: %i V beyond it gives the fault %s', (beyond_V, fault) => {
    const rig = new Rig({ learn_band_V: 5, feed_effect_V: 6 });
    rig.extra_V = 5 + 6 + 8 + beyond_V;
    rig.strike().until('settle').run(450);
    expect(rig.fault).toBe(fault);
  });

  it('compares with the contour in hand: one at another voltage is no jump', () => {
    const rig = standing();
    rig.x_steps = 8;
    rig.until('follow').run(100).off(INPUT_REQUEST);
    rig.x_steps = 0;
    rig.until('rest').run(40);
    rig.extra_V = 25;
    rig.touchOff().until('settle').run(1000);
    expect(rig).toMatchObject({ mode: 'settle', fault: 'none' });
  });
});

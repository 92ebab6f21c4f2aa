import { describe, expect, it } from 'vitest';
import { INPUT_KEY, INPUT_REQUEST, INPUT_RESET, INPUT_TOP } from '../../firmware/wire/layout.gen.js';
import { Rig } from './rig.js';

/** Time that key and request must be off without a break before they count as taken back, ms. */
const OFF_MS = 30;
const CUT_MODES = ['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold'];

/** Booted with the key on, homed, no request yet. */
const bootedWithKey = () => new Rig().on(INPUT_KEY, INPUT_TOP).run(100).off(INPUT_TOP).run(10);

/** Long enough for the torch to rise and for a touch-off and a strike after it. */
function firedWithin(rig: Rig, ticks: number): boolean {
  let fired = false;
  rig.run(ticks, () => {
    fired ||= rig.trigger;
  });
  return fired;
}

/** A ready box with voltage at the tap, this long before it raises the fault. */
function beforeFault(left_ms: number): Rig {
  const waiting = () => {
    const rig = new Rig().ready().run(600);
    rig.true_V = 140;
    return rig;
  };
  let needed_ms = 0;
  for (const rig = waiting(); rig.fault === 'none'; needed_ms++) rig.tick();
  return waiting().run(needed_ms - left_ms);
}

function afterReset(rig: Rig): Rig {
  rig.true_V = 0;
  return rig.run(50).on(INPUT_RESET).run(1).off(INPUT_RESET).run(1);
}

describe('a key that drops out', () => {
  it.each([1, 2, 5, 29])('for %i ms after a boot with the key on does not arm the box', (off_ms) => {
    const rig = bootedWithKey().off(INPUT_KEY).run(off_ms).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(100);
    expect(rig.refusal).toBe('key');
    expect(rig.mode).toBe('rest');
  });

  it('again and again never adds up to a key that was turned off', () => {
    const rig = bootedWithKey();
    for (let n = 0; n < 20; n++) rig.off(INPUT_KEY).run(29).on(INPUT_KEY).run(1);
    rig.on(INPUT_REQUEST).run(100);
    expect(rig.refusal).toBe('key');
    expect(rig.mode).toBe('rest');
  });

  it('for 30 ms has been turned off, and turning it on arms the box', () => {
    const rig = bootedWithKey().off(INPUT_KEY).run(OFF_MS).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(rig.mode).toBe('seek');
  });

  it.each(CUT_MODES)('for 1 ms in %s ends the cut in the same tick, and the box stays disarmed', (mode) => {
    const rig = new Rig({ z_velocity_mm_s: 15, pierce_ms: 300 }).at(mode);
    rig.off(INPUT_KEY).tick();
    expect(rig.trigger || rig.permit).toBe(false);
    expect(rig.state('armed')).toBe(0);
    rig.on(INPUT_KEY);
    rig.x_steps = 0;
    expect(firedWithin(rig, 4000)).toBe(false);
    expect(rig.mode).toBe('rest');
    // Not even a new request strikes: the key must be turned off and on.
    rig.off(INPUT_REQUEST).run(40).on(INPUT_REQUEST).run(100);
    expect(rig.refusal).toBe('key');
    rig.off(INPUT_KEY, INPUT_REQUEST).run(OFF_MS).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(rig.mode).toBe('seek');
  });

  it('for 1 ms at rest leaves the box disarmed, and says so before anyone asks for the torch', () => {
    const rig = new Rig().ready().off(INPUT_KEY).run(1).on(INPUT_KEY).run(1);
    expect(rig.refusal).toBe('key');
  });

  it.each([
    [10, 'key'],
    [OFF_MS, 'none'],
  ])('counts only what it was off since a fault: %i ms of it give the refusal %s', (since_ms, refusal) => {
    const rig = beforeFault(20).off(INPUT_KEY).run(20);
    expect(rig.fault).toBe('voltage-at-rest');
    rig.run(since_ms).on(INPUT_KEY);
    expect(afterReset(rig).refusal).toBe(refusal);
  });
});

describe('a request that drops out', () => {
  it.each([1, 5, 29])('for %i ms in a cut ends it in the same tick, and it is not struck again', (off_ms) => {
    const rig = new Rig().at('follow').off(INPUT_REQUEST).tick();
    expect(rig.trigger || rig.permit).toBe(false);
    rig.run(off_ms - 1).on(INPUT_REQUEST);
    rig.x_steps = 0;
    expect(firedWithin(rig, 4000)).toBe(false);
    expect(rig.mode).toBe('rest');
    expect(rig.refusal).toBe('request-held');
  });

  it('for 30 ms was taken back: the next one is taken', () => {
    const rig = new Rig().at('follow').off(INPUT_REQUEST).run(OFF_MS).on(INPUT_REQUEST);
    rig.x_steps = 0;
    rig.until('rest').until('seek');
  });

  it('into the tick of a fault was not there before it: it must be off for 30 ms again', () => {
    const rig = beforeFault(1).on(INPUT_REQUEST).run(1);
    expect(rig.fault).toBe('voltage-at-rest');
    rig.off(INPUT_KEY).run(OFF_MS).on(INPUT_KEY);
    rig.true_V = 0;
    rig.run(50).off(INPUT_REQUEST).on(INPUT_RESET).run(1).off(INPUT_RESET).on(INPUT_REQUEST).run(5);
    expect(rig.mode).toBe('rest');
    expect(rig.refusal).toBe('request-held');
  });
});

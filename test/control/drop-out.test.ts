import { describe, expect, it } from 'vitest';
import { INPUT_KEY, INPUT_REQUEST, INPUT_RESET, INPUT_TOP } from '../../firmware/wire/layout.gen.js';
import { Desk } from './bench.js';

/** Time that key and request must be off without a break before they count as taken back, ms. */
const OFF_MS = 30;
const CUT_MODES = ['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold'];

/** Booted with the key on, homed, no request yet. */
const bootedWithKey = () => new Desk().on(INPUT_KEY, INPUT_TOP).run(100).off(INPUT_TOP).run(10);

/** Long enough for the torch to rise and for a touch-off and a strike after it. */
function firedWithin(desk: Desk, ticks: number): boolean {
  let fired = false;
  desk.run(ticks, () => {
    fired ||= desk.trigger;
  });
  return fired;
}

/** A ready box with voltage at the tap, this long before it raises the fault. */
function beforeFault(left_ms: number): Desk {
  const waiting = () => {
    const desk = new Desk().ready().run(600);
    desk.true_V = 140;
    return desk;
  };
  let needed_ms = 0;
  for (const desk = waiting(); desk.fault === 'none'; needed_ms++) desk.tick();
  return waiting().run(needed_ms - left_ms);
}

function afterReset(desk: Desk): Desk {
  desk.true_V = 0;
  return desk.run(50).on(INPUT_RESET).run(1).off(INPUT_RESET).run(1);
}

describe('a key that drops out', () => {
  it.each([1, 2, 5, 29])('for %i ms after a boot with the key on does not arm the box', (off_ms) => {
    const desk = bootedWithKey().off(INPUT_KEY).run(off_ms).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(100);
    expect(desk.refusal).toBe('key');
    expect(desk.mode).toBe('rest');
  });

  it('again and again never adds up to a key that was turned off', () => {
    const desk = bootedWithKey();
    for (let n = 0; n < 20; n++) desk.off(INPUT_KEY).run(29).on(INPUT_KEY).run(1);
    desk.on(INPUT_REQUEST).run(100);
    expect(desk.refusal).toBe('key');
    expect(desk.mode).toBe('rest');
  });

  it('for 30 ms has been turned off, and turning it on arms the box', () => {
    const desk = bootedWithKey().off(INPUT_KEY).run(OFF_MS).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(desk.mode).toBe('seek');
  });

  it.each(CUT_MODES)('for 1 ms in %s ends the cut in the same tick, and the box stays disarmed', (mode) => {
    const desk = new Desk({ z_velocity_mm_s: 15, pierce_ms: 300 }).at(mode);
    desk.off(INPUT_KEY).tick();
    expect(desk.trigger || desk.permit).toBe(false);
    expect(desk.state('armed')).toBe(0);
    desk.on(INPUT_KEY);
    desk.x_steps = 0;
    expect(firedWithin(desk, 4000)).toBe(false);
    expect(desk.mode).toBe('rest');
    // Not even a new request strikes: the key must be turned off and on.
    desk.off(INPUT_REQUEST).run(40).on(INPUT_REQUEST).run(100);
    expect(desk.refusal).toBe('key');
    desk.off(INPUT_KEY, INPUT_REQUEST).run(OFF_MS).on(INPUT_KEY).run(1).on(INPUT_REQUEST).run(1);
    expect(desk.mode).toBe('seek');
  });

  it('for 1 ms at rest leaves the box disarmed, and says so before anyone asks for the torch', () => {
    const desk = new Desk().ready().off(INPUT_KEY).run(1).on(INPUT_KEY).run(1);
    expect(desk.refusal).toBe('key');
  });

  it.each([
    [10, 'key'],
    [OFF_MS, 'none'],
  ])('counts only what it was off since a fault: %i ms of it give the refusal %s', (since_ms, refusal) => {
    const desk = beforeFault(20).off(INPUT_KEY).run(20);
    expect(desk.fault).toBe('voltage-at-rest');
    desk.run(since_ms).on(INPUT_KEY);
    expect(afterReset(desk).refusal).toBe(refusal);
  });
});

describe('a request that drops out', () => {
  it.each([1, 5, 29])('for %i ms in a cut ends it in the same tick, and it is not struck again', (off_ms) => {
    const desk = new Desk().at('follow').off(INPUT_REQUEST).tick();
    expect(desk.trigger || desk.permit).toBe(false);
    desk.run(off_ms - 1).on(INPUT_REQUEST);
    desk.x_steps = 0;
    expect(firedWithin(desk, 4000)).toBe(false);
    expect(desk.mode).toBe('rest');
    expect(desk.refusal).toBe('request-held');
  });

  it('for 30 ms was taken back: the next one is taken', () => {
    const desk = new Desk().at('follow').off(INPUT_REQUEST).run(OFF_MS).on(INPUT_REQUEST);
    desk.x_steps = 0;
    desk.until('rest').until('seek');
  });

  it('into the tick of a fault was not there before it: it must be off for 30 ms again', () => {
    const desk = beforeFault(1).on(INPUT_REQUEST).run(1);
    expect(desk.fault).toBe('voltage-at-rest');
    desk.off(INPUT_KEY).run(OFF_MS).on(INPUT_KEY);
    desk.true_V = 0;
    desk.run(50).off(INPUT_REQUEST).on(INPUT_RESET).run(1).off(INPUT_RESET).on(INPUT_REQUEST).run(5);
    expect(desk.mode).toBe('rest');
    expect(desk.refusal).toBe('request-held');
  });
});

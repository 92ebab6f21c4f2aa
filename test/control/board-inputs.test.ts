/** What the board says of itself: readback, reference, outputs that are to rest, capacity. */
import { describe, expect, it } from 'vitest';
import {
  FLAG_CONVERTER_DEAD,
  FLAG_HOMED,
  INPUT_KEY,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_REST,
  OUTPUT_MEASURED_V,
  REFERENCE_COUNTS,
} from '../../firmware/wire/layout.gen.js';
import { Desk, parameterId } from './bench.js';

const RELEASE_MS = 200;
const REFERENCE_TICKS = 5;
const WITHIN_COUNTS = 82;

describe('the readback of the firing contact', () => {
  it('closed against the trigger for 200 ms is a fault that sets the latched stop, and not a tick earlier', () => {
    const desk = new Desk()
      .ready()
      .on(INPUT_RELAY)
      .run(RELEASE_MS - 1);
    expect([desk.fault, desk.latched]).toEqual(['none', false]);
    desk.tick();
    expect([desk.fault, desk.latched, desk.mode]).toEqual(['relay-closed', true, 'fault']);
  });

  it('that opens for a tick begins its time again', () => {
    const desk = new Desk().ready();
    for (let n = 0; n < 5; n++)
      desk
        .on(INPUT_RELAY)
        .run(RELEASE_MS - 1)
        .off(INPUT_RELAY)
        .tick();
    expect(desk.fault).toBe('none');
  });

  it('closed with the trigger is how it should be, and so is the time that it takes to open', () => {
    const desk = new Desk().strike().on(INPUT_RELAY);
    desk.until('settle');
    desk.x_steps = 8;
    desk.until('follow').run(1000);
    desk.x_steps = 0;
    desk
      .off(INPUT_REQUEST)
      .run(RELEASE_MS - 1)
      .off(INPUT_RELAY)
      .run(1000);
    expect([desk.mode, desk.fault]).toEqual(['rest', 'none']);
  });

  it('is told in a fault of another cause too', () => {
    const desk = new Desk().at('follow');
    desk.on(INPUT_RELAY);
    desk.arc_burns = false;
    desk.x_steps = 0;
    desk.run(150);
    expect([desk.fault, desk.latched]).toEqual(['no-voltage', false]);
    desk.run(300);
    expect([desk.fault, desk.latched]).toEqual(['relay-closed', true]);
  });

  it('must be open for a reset, whatever the fault', () => {
    const desk = new Desk().ready().on(INPUT_RELAY).run(RELEASE_MS).off(INPUT_KEY);
    desk.run(10).on(INPUT_RESET).run(10);
    expect([desk.fault, desk.latched]).toEqual(['relay-closed', true]);
    desk.off(INPUT_RESET, INPUT_RELAY).run(10).on(INPUT_RESET).tick();
    expect([desk.fault, desk.latched, desk.mode]).toEqual(['none', false, 'rest']);
  });

  it('does not hide voltage at rest, which is graver', () => {
    const desk = new Desk().ready().on(INPUT_RELAY).run(RELEASE_MS);
    desk.true_V = 100;
    const faults = new Set<string>();
    desk.run(1000, () => faults.add(desk.fault));
    expect([...faults]).toEqual(['relay-closed', 'voltage-at-rest']);
  });
});

describe('the converter’s reference', () => {
  it.each([
    [REFERENCE_COUNTS + WITHIN_COUNTS, false],
    [REFERENCE_COUNTS - WITHIN_COUNTS, false],
    [REFERENCE_COUNTS + WITHIN_COUNTS + 1, true],
    [REFERENCE_COUNTS - WITHIN_COUNTS - 1, true],
    [0, true],
  ])('at %i counts for 5 ticks makes a dead converter: %s', (counts, dead) => {
    const desk = new Desk().ready();
    desk.controller.reference = counts;
    desk.run(REFERENCE_TICKS - 1);
    expect(desk.flag(FLAG_CONVERTER_DEAD)).toBe(false);
    desk.tick();
    expect(desk.flag(FLAG_CONVERTER_DEAD)).toBe(dead);
  });

  it('is believed again only after as many right readings', () => {
    const desk = new Desk().ready();
    desk.controller.reference = 0;
    desk.run(20);
    desk.controller.reference = REFERENCE_COUNTS;
    desk.run(REFERENCE_TICKS - 1);
    expect(desk.flag(FLAG_CONVERTER_DEAD)).toBe(true);
    desk.tick();
    expect(desk.flag(FLAG_CONVERTER_DEAD)).toBe(false);
  });

  it('that is wrong makes the readings the top of the range: voltage at rest, a saturated reading in a cut', () => {
    const resting = new Desk().ready();
    resting.controller.reference = 0;
    resting.run(600);
    expect(resting.real(OUTPUT_MEASURED_V)).toBeGreaterThan(380);
    expect(resting.fault).toBe('voltage-at-rest');
    const cutting = new Desk().at('follow');
    cutting.controller.reference = 0;
    cutting.run(REFERENCE_TICKS + 10);
    expect(cutting.fault).toBe('reading-saturated');
  });
});

describe('outputs that are to rest', () => {
  it.each(['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold', 'retract'])(
    'take trigger, permit, Z and its steps away in %s, in the same tick, and Z must be homed again',
    (mode) => {
      const desk = new Desk().at(mode).on(INPUT_REST).tick();
      expect([desk.digital_outputs, desk.z_steps]).toEqual([0, 0]);
      desk.x_steps = 0;
      desk.plant = false;
      desk.true_V = 0;
      desk.run(200, () => expect([desk.digital_outputs, desk.z_steps]).toEqual([0, 0]));
      expect([desk.mode, desk.flag(FLAG_HOMED)]).toEqual(['rest', false]);
    },
  );

  it('refuse a request, disarm, and start nothing when they are over', () => {
    const desk = new Desk().ready().on(INPUT_REST, INPUT_REQUEST).run(50);
    expect([desk.mode, desk.refusal]).toEqual(['rest', 'resting']);
    desk.off(INPUT_REST).run(100);
    expect([desk.mode, desk.refusal]).toEqual(['rest', 'key']);
  });

  it('let a key that is turned on meanwhile count for nothing', () => {
    const desk = new Desk()
      .ready()
      .off(INPUT_KEY)
      .on(INPUT_REST)
      .run(100)
      .on(INPUT_KEY)
      .run(100)
      .off(INPUT_REST)
      .run(100);
    expect(desk.refusal).toBe('key');
    expect(desk.off(INPUT_KEY).run(30).on(INPUT_KEY).tick().refusal).toBe('none');
  });

  it('leave the latched stop and every check as they are', () => {
    const desk = new Desk().ready().on(INPUT_REST);
    desk.true_V = 100;
    desk.run(600);
    expect([desk.fault, desk.latched]).toEqual(['voltage-at-rest', true]);
    desk.off(INPUT_REST).tick();
    expect([desk.fault, desk.latched]).toEqual(['voltage-at-rest', true]);
  });
});

describe('the capacity of the board', () => {
  const refusalWith = (capacity: number) => {
    const desk = new Desk();
    desk.controller.capacity = capacity;
    return desk.ready().refusal;
  };

  it('below what the highest speed of Z asks for is a contradiction of the two parameters', () => {
    // 40 mm/s at 400 steps/mm are 16 steps a millisecond.
    expect([16, 15].map(refusalWith)).toEqual(['none', 'parameters']);
    const { controller } = new Desk();
    controller.capacity = 15;
    expect(controller.contradiction()).toEqual([parameterId('z_velocity_mm_s'), parameterId('z_steps_per_mm')]);
  });

  it('that was not told refuses every start', () => {
    expect(refusalWith(0)).toBe('parameters');
  });
});

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
import { parameterId, Rig } from './rig.js';

const RELEASE_MS = 200;
const REFERENCE_TICKS = 5;
const WITHIN_COUNTS = 82;

describe('the readback of the firing contact', () => {
  it('closed against the trigger for 200 ms is a fault that sets the latched stop, and not a tick earlier', () => {
    const rig = new Rig()
      .ready()
      .on(INPUT_RELAY)
      .run(RELEASE_MS - 1);
    expect([rig.fault, rig.latched]).toEqual(['none', false]);
    rig.tick();
    expect([rig.fault, rig.latched, rig.mode]).toEqual(['relay-closed', true, 'fault']);
  });

  it('that opens for a tick begins its time again', () => {
    const rig = new Rig().ready();
    for (let n = 0; n < 5; n++)
      rig
        .on(INPUT_RELAY)
        .run(RELEASE_MS - 1)
        .off(INPUT_RELAY)
        .tick();
    expect(rig.fault).toBe('none');
  });

  it('closed with the trigger is how it should be, and so is the time that it takes to open', () => {
    const rig = new Rig().strike().on(INPUT_RELAY);
    rig.until('settle');
    rig.x_steps = 8;
    rig.until('follow').run(1000);
    rig.x_steps = 0;
    rig
      .off(INPUT_REQUEST)
      .run(RELEASE_MS - 1)
      .off(INPUT_RELAY)
      .run(1000);
    expect([rig.mode, rig.fault]).toEqual(['rest', 'none']);
  });

  it('is told in a fault of another cause too', () => {
    const rig = new Rig().at('follow');
    rig.on(INPUT_RELAY);
    rig.arc_burns = false;
    rig.x_steps = 0;
    rig.run(150);
    expect([rig.fault, rig.latched]).toEqual(['no-voltage', false]);
    rig.run(300);
    expect([rig.fault, rig.latched]).toEqual(['relay-closed', true]);
  });

  it('must be open for a reset, whatever the fault', () => {
    const rig = new Rig().ready().on(INPUT_RELAY).run(RELEASE_MS).off(INPUT_KEY);
    rig.run(10).on(INPUT_RESET).run(10);
    expect([rig.fault, rig.latched]).toEqual(['relay-closed', true]);
    rig.off(INPUT_RESET, INPUT_RELAY).run(10).on(INPUT_RESET).tick();
    expect([rig.fault, rig.latched, rig.mode]).toEqual(['none', false, 'rest']);
  });

  it('does not hide voltage at rest, which is graver', () => {
    const rig = new Rig().ready().on(INPUT_RELAY).run(RELEASE_MS);
    rig.true_V = 100;
    const faults = new Set<string>();
    rig.run(1000, () => faults.add(rig.fault));
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
    const rig = new Rig().ready();
    rig.controller.reference = counts;
    rig.run(REFERENCE_TICKS - 1);
    expect(rig.flag(FLAG_CONVERTER_DEAD)).toBe(false);
    rig.tick();
    expect(rig.flag(FLAG_CONVERTER_DEAD)).toBe(dead);
  });

  it('is believed again only after as many right readings', () => {
    const rig = new Rig().ready();
    rig.controller.reference = 0;
    rig.run(20);
    rig.controller.reference = REFERENCE_COUNTS;
    rig.run(REFERENCE_TICKS - 1);
    expect(rig.flag(FLAG_CONVERTER_DEAD)).toBe(true);
    rig.tick();
    expect(rig.flag(FLAG_CONVERTER_DEAD)).toBe(false);
  });

  it('that is wrong makes the readings the top of the range: voltage at rest, a saturated reading in a cut', () => {
    const resting = new Rig().ready();
    resting.controller.reference = 0;
    resting.run(600);
    expect(resting.real(OUTPUT_MEASURED_V)).toBeGreaterThan(380);
    expect(resting.fault).toBe('voltage-at-rest');
    const cutting = new Rig().at('follow');
    cutting.controller.reference = 0;
    cutting.run(REFERENCE_TICKS + 10);
    expect(cutting.fault).toBe('reading-saturated');
  });
});

describe('outputs that are to rest', () => {
  it.each(['seek', 'lift', 'strike', 'pierce', 'lower', 'settle', 'follow', 'hold', 'retract'])(
    'take trigger, permit, Z and its steps away in %s, in the same tick, and Z must be homed again',
    (mode) => {
      const rig = new Rig().at(mode).on(INPUT_REST).tick();
      expect([rig.digital_outputs, rig.z_steps]).toEqual([0, 0]);
      rig.x_steps = 0;
      rig.plant = false;
      rig.true_V = 0;
      rig.run(200, () => expect([rig.digital_outputs, rig.z_steps]).toEqual([0, 0]));
      expect([rig.mode, rig.flag(FLAG_HOMED)]).toEqual(['rest', false]);
    },
  );

  it('refuse a request, disarm, and start nothing when they are over', () => {
    const rig = new Rig().ready().on(INPUT_REST, INPUT_REQUEST).run(50);
    expect([rig.mode, rig.refusal]).toEqual(['rest', 'resting']);
    rig.off(INPUT_REST).run(100);
    expect([rig.mode, rig.refusal]).toEqual(['rest', 'key']);
  });

  it('let a key that is turned on meanwhile count for nothing', () => {
    const rig = new Rig()
      .ready()
      .off(INPUT_KEY)
      .on(INPUT_REST)
      .run(100)
      .on(INPUT_KEY)
      .run(100)
      .off(INPUT_REST)
      .run(100);
    expect(rig.refusal).toBe('key');
    expect(rig.off(INPUT_KEY).run(30).on(INPUT_KEY).tick().refusal).toBe('none');
  });

  it('leave the latched stop and every check as they are', () => {
    const rig = new Rig().ready().on(INPUT_REST);
    rig.true_V = 100;
    rig.run(600);
    expect([rig.fault, rig.latched]).toEqual(['voltage-at-rest', true]);
    rig.off(INPUT_REST).tick();
    expect([rig.fault, rig.latched]).toEqual(['voltage-at-rest', true]);
  });
});

describe('the capacity of the board', () => {
  const refusalWith = (capacity: number) => {
    const rig = new Rig();
    rig.controller.capacity = capacity;
    return rig.ready().refusal;
  };

  it('below what the highest speed of Z asks for is a contradiction of the two parameters', () => {
    // 40 mm/s at 400 steps/mm are 16 steps a millisecond.
    expect([16, 15].map(refusalWith)).toEqual(['none', 'parameters']);
    const { controller } = new Rig();
    controller.capacity = 15;
    expect(controller.contradiction()).toEqual([parameterId('z_velocity_mm_s'), parameterId('z_steps_per_mm')]);
  });

  it('that was not told refuses every start', () => {
    expect(refusalWith(0)).toBe('parameters');
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as wire from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { CUT_V, parameterId, Rig } from './rig.js';

const MAY_FIRE = ['strike', 'pierce', 'lower', 'settle', 'follow', 'hold'];
const REALS = [32, 36, 40, 44, 48, 52, 56, 60, 64, 72];
const KEPT_ON = wire.INPUT_KEY | wire.INPUT_REQUEST | wire.INPUT_STOP_CHAIN;

/** Watches every tick of a rig and throws on the first that breaks a requirement; the numbers are those of DEVELOPERS.md. */
class Watch {
  private request_edge = false;
  private request_taken = false;
  private key_edge = false;
  private touch_ended = false;
  private mode_before = 'rest';
  private trigger_before = false;
  private fault_before = 'none';
  private reset_before = false;
  private key_off_ms = 0;
  private request_off_ms = 0;
  private z = 0;
  private readonly most_steps: number;
  private readonly travel_steps: number;
  fired = 0;

  constructor(private readonly rig: Rig) {
    const of = (name: string) => rig.controller.parameter(parameterId(name));
    this.most_steps = Math.floor(of('z_velocity_mm_s') * 0.001 * of('z_steps_per_mm')) + 1;
    this.travel_steps = of('travel_mm') * of('z_steps_per_mm');
  }

  tick(): void {
    const { rig } = this;
    rig.tick();
    const on = (mask: number) => (rig.digital_inputs & mask) !== 0;
    const { mode, fault, trigger } = rig;
    // Requirement 3 is about what came since power-up, reset or fault, and since the last cut for request and touch-off.
    // What was off for less than 30 ms has dropped out and was not turned off.
    if (on(wire.INPUT_KEY) && this.key_off_ms >= 30) this.key_edge = true;
    if (!on(wire.INPUT_KEY) || fault !== 'none') this.key_edge = false;
    this.key_off_ms = on(wire.INPUT_KEY) || fault !== this.fault_before ? 0 : this.key_off_ms + 1;
    if (on(wire.INPUT_REQUEST) && this.request_off_ms >= 30) this.request_edge = true;
    if (mode === 'seek' && this.mode_before !== 'seek') {
      this.request_taken = this.request_edge;
      this.request_edge = false;
    }
    if (fault !== 'none') {
      this.request_taken = false;
      this.request_edge = false;
    }
    this.request_off_ms = on(wire.INPUT_REQUEST) ? 0 : this.request_off_ms + 1;
    if (mode === 'lift' && this.mode_before === 'seek') this.touch_ended = true;
    if (!rig.owned || mode === 'seek') this.touch_ended = false;

    const requirement = (name: string, kept: boolean) => {
      if (!kept) throw new Error(`${name}: tick ${rig.ticks}, ${this.mode_before} → ${mode}, fault ${fault}`);
    };
    if (trigger) {
      this.fired++;
      requirement('trigger only with key, request and stop chain', (rig.digital_inputs & KEPT_ON) === KEPT_ON);
      requirement('trigger only without a fault', fault === 'none');
      requirement('trigger only in strike to hold', MAY_FIRE.includes(mode));
      requirement('trigger only after the key was turned on', this.key_edge);
      requirement('trigger only after a request edge', this.request_taken);
      requirement('trigger only after a touch-off', this.touch_ended);
      requirement('trigger never in a late tick', !on(wire.INPUT_OVERRUN));
    }
    requirement('permit only with the trigger', !rig.permit || trigger);
    requirement('permit only in settle, follow, hold', !rig.permit || MAY_FIRE.indexOf(mode) >= 3);
    requirement('permit only with an arc', !rig.permit || rig.flag(wire.FLAG_ARC_OK));
    requirement('permit in settle, follow, hold', rig.permit || MAY_FIRE.indexOf(mode) < 3);
    requirement('steps only while Z is owned', rig.owned || rig.z_steps === 0);
    requirement('step rate', Math.abs(rig.z_steps) <= this.most_steps);
    if (rig.owned) this.z = this.mode_before === 'rest' ? rig.z_steps : this.z + rig.z_steps;
    requirement('Z counted', !rig.owned || this.z === rig.integer(wire.OUTPUT_Z));
    requirement('travel', !rig.owned || (this.z <= 0 && this.z >= -this.travel_steps - 1));
    requirement(
      'finite',
      REALS.every((offset) => Number.isFinite(rig.real(offset))),
    );
    requirement('never not-finite', fault !== 'not-finite');
    if (this.fault_before !== 'none' && fault === 'none') {
      requirement('fault left by a reset edge', on(wire.INPUT_RESET) && !this.reset_before);
      requirement('fault left with the request off', !on(wire.INPUT_REQUEST) && on(wire.INPUT_STOP_CHAIN));
    }
    requirement('fault is a mode', (fault !== 'none') === (mode === 'fault'));
    requirement('permit gone at once with the trigger', trigger || !this.trigger_before || !rig.permit);

    this.mode_before = mode;
    this.trigger_before = trigger;
    this.fault_before = fault;
    this.reset_before = on(wire.INPUT_RESET);
  }

  run(ticks: number): void {
    for (let i = 0; i < ticks; i++) this.tick();
  }
}

/** A change of what the box sees, and how long it lasts. */
const BITS = [1, 2, 4, 8, 16, 32, 64, 128, 256, 512];
const event = fc.record({
  flip: fc.constantFrom(0, 0, 0, 2, 2, ...BITS),
  hold_ms: fc.oneof(fc.integer({ min: 1, max: 6 }), fc.integer({ min: 1, max: 700 })),
  x_steps: fc.oneof(fc.integer({ min: -12, max: 12 }), fc.integer()),
  y_steps: fc.oneof(fc.constant(0), fc.integer({ min: -12, max: 12 }), fc.integer()),
  volts: fc.constantFrom('plant', 'plant', 'plant', 'zero', 'arc', 'no-load', 'crossing', 'negative', 'top', 'noise'),
});
type Event = typeof event extends fc.Arbitrary<infer T> ? T : never;

const VOLTS: Readonly<Record<string, number>> = { zero: 0, arc: CUT_V, 'no-load': 145, crossing: 143, negative: -12 };

function apply(rig: Rig, { flip, x_steps, y_steps, volts }: Event): void {
  rig.digital_inputs ^= flip;
  rig.x_steps = x_steps;
  rig.y_steps = y_steps;
  rig.plant = volts === 'plant';
  rig.counts = undefined;
  if (volts === 'top') rig.counts = new Array<number>(10).fill(4095);
  else if (volts === 'noise')
    rig.counts = Array.from({ length: 10 }, (_, i) => ((x_steps ^ (i * 2654435761)) >>> 3) & 0xffff);
  else rig.true_V = VOLTS[volts] ?? rig.true_V;
}

function playEvents(rig: Rig, events: readonly Event[]): Watch {
  const watch = new Watch(rig);
  const first = rig.digital_inputs;
  rig.on(wire.INPUT_TOP);
  watch.run(10);
  rig.off(wire.INPUT_TOP);
  watch.run(25);
  rig.digital_inputs = first | wire.INPUT_KEY;
  watch.run(5);
  rig.plant = true;
  rig.on(wire.INPUT_REQUEST);
  for (const each of events) {
    apply(rig, each);
    watch.run(each.hold_ms);
  }
  // What the events left is put right, and the box must come back: every fault can be left, no mode is a dead end.
  apply(rig, { flip: 0, hold_ms: 0, x_steps: 0, y_steps: 0, volts: 'plant' });
  rig.digital_inputs = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY;
  watch.run(6000);
  for (let i = 0; i < 60_000 && rig.mode !== 'rest'; i++) {
    rig.digital_inputs = (rig.digital_inputs & ~wire.INPUT_RESET) | (i % 1000 > 500 ? wire.INPUT_RESET : 0);
    watch.tick();
  }
  expect(rig.mode).toBe('rest');
  return watch;
}

/**
 * Values inside the ranges, most of them the defaults so that few sets contradict themselves; the rig's own
 * calibration stays.
 */
const CALIBRATION = ['reading_gain_mV', 'reading_zero_counts'];
const parameters = fc
  .tuple(
    ...PARAMETER_ROWS.map((row) =>
      CALIBRATION.includes(row.name)
        ? fc.constant(row.default)
        : fc.oneof(
            { weight: 8, arbitrary: fc.constant(row.default) },
            row.integer ? fc.integer({ min: row.min, max: row.max }) : within(row.min, row.max),
          ),
    ),
  )
  .map((values) => Object.fromEntries(PARAMETER_ROWS.map((row, i) => [row.name, values[i]])));

/** The target is found or told: both, whatever the rig's own default. */
const told = fc.constantFrom({ target_learned: 1 }, { target_learned: 0 });

function within(min: number, max: number): fc.Arbitrary<number> {
  return fc.integer({ min: 0, max: 1000 }).map((part) => min + ((max - min) * part) / 1000);
}

describe('whatever happens at the inputs, the requirements of the outputs are kept', () => {
  it('from rest, with default parameters', () => {
    fc.assert(
      fc.property(fc.array(event, { minLength: 3, maxLength: 40 }), told, (events, target) => {
        playEvents(new Rig(target), events);
      }),
      { numRuns: 200 },
    );
  });

  it('with any parameters inside their ranges', () => {
    let fired = 0;
    fc.assert(
      fc.property(parameters, fc.array(event, { minLength: 1, maxLength: 12 }), (box, events) => {
        fired += playEvents(new Rig(box), [plain(3000), plain(600, 8), ...events]).fired;
      }),
      { numRuns: 300 },
    );
    // A campaign that never fired would have shown nothing.
    expect(fired).toBeGreaterThan(100_000);
  });

  it('in a cut that is disturbed', () => {
    let fired = 0;
    fc.assert(
      fc.property(
        fc.constantFrom('strike', 'pierce', 'lower', 'settle', 'follow', 'hold'),
        fc.array(event, { minLength: 1, maxLength: 8 }),
        told,
        (mode, events, target) => {
          const rig = new Rig({ ...target, pierce_ms: 100, z_velocity_mm_s: 15 });
          // The watch sees the whole cut: it is brought to this mode by plain events.
          const watch = playEvents(rig, [...PLAIN[mode], ...events]);
          fired += watch.fired;
        },
      ),
      { numRuns: 300 },
    );
    expect(fired).toBeGreaterThan(50_000);
  });
});

const plain = (hold_ms: number, x_steps = 0, flip = 0): Event => ({
  flip,
  hold_ms,
  x_steps,
  y_steps: 0,
  volts: 'plant',
});
/** The plain course of a cut on this rig, ms: touch-off and lift 1.5 s, strike 60, pierce 100, lower 110. */
const PLAIN: Readonly<Record<string, readonly Event[]>> = {
  strike: [plain(1480)],
  pierce: [plain(1580)],
  lower: [plain(1680)],
  settle: [plain(1900)],
  follow: [plain(1900), plain(600, 8)],
  hold: [plain(1900), plain(600, 8), plain(20, 8, wire.INPUT_HOLD)],
};

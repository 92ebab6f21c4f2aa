import { beforeEach, expect, it } from 'vitest';
import { INPUT_KEY, INPUT_STOP_CHAIN } from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { describeAgainst } from '../reference/support.js';
import { ARM_GCC, buildPortImage, PortBoard } from './port-board.js';

const boot = (name: string): number => BOOT_ROWS.findIndex((row) => row.name === name);
const MS_ns = 1e6;

describeAgainst(ARM_GCC, 'the port on the emulated RP2040', (gcc) => {
  const image = buildPortImage(gcc);
  let port: PortBoard;
  beforeEach(async () => {
    port = await PortBoard.create(image);
  });

  const rises = (pin: string, from_ns: number): number[] =>
    port.board.recorder
      .edges(from_ns, pin)
      .filter(({ high }) => high)
      .map(({ at_ns }) => at_ns);

  it('ticks once a millisecond, and nothing on silicon would be amiss', () => {
    const before = port.board.tick.count;
    port.run(500);
    expect(port.board.tick.count - before).toBe(500);
    expect(port.report()).toMatchObject({ cause: boot('power-up'), slot: 0, overruns: 0, intact: 1, kept: 1 });
    expect(port.board.problems.text()).toBe('');
  });

  it('hands over ten readings a millisecond in their order, and the reference', () => {
    let n = 0;
    port.board.sample = (channel) => (channel === 1 ? 2048 : n++);
    const first = (): number => {
      port.run(20);
      // Ten in a row a, a+1, … weighted 1 to 10 sum up to 55 a + 330.
      const a = (port.report().reading_sum - 330) / 55;
      expect(Number.isInteger(a), 'ten in a row').toBe(true);
      return a;
    };
    const [one, other] = [first(), first()];
    expect(other).toBeGreaterThan(one);
    expect((other - one) % 10, 'ten to a tick, none lost or twice').toBe(0);
    expect(port.report().reference).toBe(2048);
  });

  it('reads every input line, and the relay', () => {
    expect(port.report()).toMatchObject({ lines: 0, relay: 0 });
    for (let bit = 1; bit <= 256; bit *= 2) {
      port.board.pins.setLines(bit);
      port.run(3);
      expect(port.report().lines).toBe(bit);
    }
    port.board.pins.set('RELAY', true);
    port.run(3);
    expect(port.report().relay).toBe(1);
  });

  it('counts every X and Y step in either direction', () => {
    const pulse = (axis: string, count: number): void => {
      for (let i = 0; i < count; i++) {
        port.board.pins.set(`${axis}_STEP`, true);
        port.board.run(3000);
        port.board.pins.set(`${axis}_STEP`, false);
        port.board.run(3000);
      }
    };
    port.board.pins.set('X_DIRECTION', true);
    port.board.pins.set('Y_DIRECTION', false);
    pulse('X', 700);
    pulse('Y', 45);
    port.run(2);
    expect(port.report()).toMatchObject({ x_steps: 700, y_steps: -45 });
    port.board.pins.set('X_DIRECTION', false);
    port.run(1);
    pulse('X', 1000);
    port.run(2);
    expect(port.report()).toMatchObject({ x_steps: -300, y_steps: -45 });
  });

  it.each([1, 7, 16, 33])('spreads %i steps evenly over each millisecond', (steps) => {
    port.tell('Z', steps);
    port.run(5);
    const from = port.board.now_ns;
    port.run(200);
    const edges = rises('Z_STEP', from);
    expect(edges.length).toBeGreaterThanOrEqual(200 * steps - 1);
    const interval = MS_ns / steps;
    // Against an even comb through the first: 1 µs is the timer's own step; 2 µs is the figure to reach.
    const off = edges.map((at, i) => Math.abs(at - edges[0] - i * interval));
    expect(Math.max(...off)).toBeLessThan(2000);
  });

  it('keeps pulses and direction set-up when the direction changes every millisecond', () => {
    port.tell('A', 60);
    port.run(5);
    const from = port.board.now_ns;
    port.run(100);
    const { recorder } = port.board;
    const edges = recorder.edges(from).filter(({ pin }) => pin === 'Z_STEP' || pin === 'Z_DIRECTION');
    let [rise, fall, turn] = [0, 0, 0];
    const least = { high: 1e9, low: 1e9, set_up: 1e9, hold: 1e9 };
    for (const { at_ns, pin, high } of edges) {
      if (pin === 'Z_DIRECTION') {
        least.hold = Math.min(least.hold, at_ns - rise);
        turn = at_ns;
      } else if (high) {
        least.low = Math.min(least.low, at_ns - fall);
        least.set_up = Math.min(least.set_up, at_ns - turn);
        rise = at_ns;
      } else {
        least.high = Math.min(least.high, at_ns - rise);
        fall = at_ns;
      }
    }
    // Drivers ask for 2.5 to 5 µs of pulse and 5 to 20 µs of set-up (common practice).
    expect(least.high).toBeGreaterThanOrEqual(5000);
    expect(least.low).toBeGreaterThanOrEqual(5000);
    expect(least.set_up).toBeGreaterThanOrEqual(20_000);
    expect(least.hold).toBeGreaterThanOrEqual(5000);
    expect(recorder.foreign_steps).toBe(0);
  });

  it('puts out more steps than a millisecond holds in those that follow, and loses none', () => {
    port.tell('Z', 120);
    port.tell('Z', 0);
    const told = port.board.recorder.z_steps;
    port.run(400);
    const total = port.board.recorder.z_steps;
    expect(total).toBeGreaterThan(told);
    expect(total % 120, 'whole ticks’ worth').toBe(0);
  });

  it('gives Z up only after the last step, and gives out none without owning it', () => {
    port.tell('Z', 40);
    port.run(20);
    port.tell('L');
    port.run(5);
    const { recorder, pins } = port.board;
    expect(pins.isHigh('Z_OWNED')).toBe(false);
    expect(recorder.foreign_steps).toBe(0);
    expect(recorder.z_steps % 40, 'whole ticks’ worth').toBe(0);
  });

  it('toggles the trigger once a tick, only with the key on and the stop chain intact, and rests it between ticks', () => {
    const { pins } = port.board;
    port.tell('T');
    port.run(20);
    expect(rises('TRIGGER', 0).length).toBe(0);
    pins.setLines(INPUT_KEY | INPUT_STOP_CHAIN);
    port.run(3);
    const from = port.board.now_ns;
    port.run(100);
    expect(rises('TRIGGER', from).length).toBe(50);
    // Open the chain while the pin is high: it falls within a tenth of a millisecond and stays.
    port.board.runUntil(() => !pins.isHigh('TRIGGER'), 3 * MS_ns);
    port.board.runUntil(() => pins.isHigh('TRIGGER'), 3 * MS_ns);
    port.board.run(150_000);
    pins.setLines(INPUT_KEY);
    const opened = port.board.now_ns;
    port.run(50);
    const after = port.board.recorder.edges(opened, 'TRIGGER');
    expect(after.map(({ high }) => high)).toEqual([false]);
    expect(after[0].at_ns - opened).toBeLessThanOrEqual(105_000);
  });

  it('says that a tick was late, leaves its successor out, and counts on', () => {
    port.tell('D', 130);
    port.run(10);
    const { overruns } = port.report();
    expect(overruns).toBe(1);
    port.run(300);
    expect(port.report().overruns).toBe(1);
  });

  it('holds ticks back and lets the one that was due follow', () => {
    const before = port.board.tick.count;
    port.tell('K');
    port.run(8);
    const { ticks, overruns } = port.report();
    expect(ticks).toBeGreaterThan(0);
    expect(overruns).toBeLessThanOrEqual(1);
    expect(port.board.tick.count - before).toBeGreaterThanOrEqual(9);
  });

  it('erases, programs and reads the flash chip while ticks go on', () => {
    const before = port.board.tick.count;
    const began = port.board.now_ns;
    port.tell('F');
    expect(port.line()).toBe('flash done');
    const ms = (port.board.now_ns - began) / MS_ns;
    expect(ms, 'a real chip’s erase').toBeGreaterThan(40);
    expect(port.board.tick.count - before).toBeGreaterThanOrEqual(Math.floor(ms) - 1);
    expect(port.board.problems.text()).toBe('');
  });

  const outputs = ['TRIGGER', 'Z_STEP', 'Z_OWNED', 'MOTION_PERMIT', 'LATCHED_STOP', 'LAMP', 'LED'];
  const allRest = (): boolean => outputs.every((name) => !port.board.pins.isHigh(name));
  const firing = (): void => {
    port.board.pins.setLines(INPUT_KEY | INPUT_STOP_CHAIN);
    port.run(1200);
    port.tell('T');
    port.tell('Z', 5);
    port.run(10);
    expect(port.board.pins.isHigh('MOTION_PERMIT')).toBe(true);
  };

  it.each([
    ['H', 'hung', 12],
    ['S', 'stack', 1],
    ['B', 'hard-fault', 1],
  ])('rests all outputs on fault %s and says afterwards: %s', (command, cause, most_ms) => {
    firing();
    const from = port.board.now_ns;
    port.board.send(Uint8Array.from([command.charCodeAt(0)]));
    expect(port.board.runUntil(allRest, (most_ms + 1) * MS_ns)).toBe(true);
    expect((port.board.now_ns - from) / MS_ns).toBeLessThanOrEqual(most_ms + 1);
    port.restarted();
    expect(BOOT_ROWS[port.report().cause].name).toBe(cause);
    expect(port.report().kept, 'kept memory outlives it').toBe(2);
  });

  it('names the place of a hard fault', () => {
    port.tell('B');
    port.restarted();
    const { detail } = port.report();
    expect(detail).toBeGreaterThan(0x20000000);
    expect(detail).toBeLessThan(0x20010000);
  });

  it('stays in the loader after three starts that ended within their first second', () => {
    for (let i = 0; i < 2; i++) {
      port.tell('B');
      port.restarted();
    }
    const ticks = port.board.tick.count;
    port.tell('B');
    port.run(15_000);
    expect(port.board.tick.count - ticks).toBeLessThan(5);
  });

  it('forgets failures of starts that lasted longer', () => {
    for (let i = 0; i < 4; i++) {
      port.run(1100);
      port.tell('B');
      port.restarted();
    }
    expect(BOOT_ROWS[port.report().cause].name).toBe('hard-fault');
  });

  it('rests for good when told to', () => {
    firing();
    port.tell('P');
    const from = port.board.now_ns;
    port.run(50);
    expect(allRest()).toBe(true);
    expect(port.board.recorder.edges(from)).toEqual([]);
  });
});

/**
 * Faults of the box in the middle of a cut, on the emulated board with the shipped image: when the last pulse of the
 * trigger comes, in emulated time, and what the box says of it afterwards over the line.
 */
import { beforeEach, describe, expect, it } from 'vitest';
import { FAULT_NO_VOLTAGE, FAULT_STOP_CHAIN, MODE_FOLLOW, MODE_REST } from '../../firmware/wire/codes.gen.js';
import { INPUT_STOP_CHAIN, OUTPUT_FAULT, OUTPUT_MODE } from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS, EVENT_ROWS } from '../../firmware/wire/link-rows.js';
import type { EmulatedController } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { type Controller, loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, Runner } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import type { FaultKind } from '../../sim/world/plant/index.js';
import { someOf } from '../support/volume.js';
import { emulatedBox, RESTING } from './cutting.js';
import { exportTable, ImageExports } from './image-exports.js';
import { loadImage, board as number } from './images.js';

const MS_ns = 1e6;
const STRAIGHT = 'G21 G90 G17 F3000\nG0 X2 Y2\nM3\nG1 X142\nM5\nG4 P1\nM30\n';
const PEND_SV = 14;
const TRAP_KIND = 1;
const SP = 13;
const PC = 15;
const BODY_AT = number('BODY_RAM_AT');
const BRANCH_TO_SELF = 0xe7fe;
/** In follow for this long before something happens, ticks. */
const SETTLED_TICKS = 200;

let box: EmulatedController;
let runner: Runner;

/** The example's setup, with less to wait for: the torch stands lower, finds the sheet faster, and pierces sooner. */
function straightCut(controller: Controller, faults: readonly { kind: FaultKind; at_s: number }[] = []): Runner {
  const { box: example, machine: table, world } = exampleSetup();
  const parameters = { ...example, seek_fast_mm_s: 20, seek_slow_mm_s: 6, pierce_ms: 50 };
  const machine = { ...table, axis: { ...table.axis, z_start_mm: 8 } };
  const plan = planProgram(parseProgram(STRAIGHT, 'straight.nc'), motionLimits(machine));
  return new Runner({ box: parameters, machine, world: { ...world, faults }, plan, seed: 1, controller });
}

function begin(faults: readonly { kind: FaultKind; at_s: number }[] = []): void {
  runner = straightCut(box, faults);
}

const mode = () => box.output.integers[OUTPUT_MODE / 4];
const fault = () => box.output.integers[OUTPUT_FAULT / 4];

/** The tick at which the same cut, in this process, has followed for a while. */
function followingTick(): number {
  const controller = new WasmController(loadControlModule());
  const here = straightCut(controller);
  while (controller.output.integers[OUTPUT_MODE / 4] !== MODE_FOLLOW) {
    here.runBlock(1);
    expect(controller.output.integers[OUTPUT_FAULT / 4]).toBe(0);
  }
  return here.tick + SETTLED_TICKS;
}

/** Cuts until the box has followed for a while. */
function cutAWhile(): void {
  begin();
  for (let followed = 0; followed < SETTLED_TICKS; followed = mode() === MODE_FOLLOW ? followed + 1 : 0) {
    runner.runBlock(1);
    expect(fault()).toBe(0);
    expect(runner.tick).toBeLessThan(20_000);
  }
}

const lastPulse_ns = (): number => box.board.recorder.edges(0, 'TRIGGER').at(-1).at_ns;
const peek16 = (address: number): Uint16Array =>
  new Uint16Array(box.board.chip.processor.memory.buffer, address - 0x20000000, 1);

interface Told {
  readonly kind: string;
  readonly detail: number;
  readonly value: number;
}

/** The last events in the box's ring. */
function eventsNow(): Told[] {
  const ask = (first: number) =>
    decodeLayout('events', box.link.ask('events-read', encodeLayout('span', { first, count: 15 })).payload)!;
  const next = ask(0).values.next as number;
  return ask(Math.max(0, next - 15)).records.map(({ kind, detail, value }) => ({
    kind: EVENT_ROWS[kind as number].name,
    detail: detail as number,
    value: value as number,
  }));
}

/** What the box says once it answers again: its cause, and the events in its ring. */
function afterwards(): { boot: string; events: Told[] } {
  const { board, link } = box;
  const before = board.tick.count;
  expect(board.runUntil(() => board.chip.resets > 0 && board.tick.count > before + 5, 2e9)).toBe(true);
  const identity = decodeLayout('identity', link.ask('identity').payload)!.values;
  expect(identity.in_loader).toBe(0);
  return { boot: BOOT_ROWS[identity.boot as number].name, events: eventsNow() };
}

/** Outputs at rest from a moment on: every pin that permits or moves something is low, and stays so. */
function restsFrom(moment_ns: number, pins = ['TRIGGER', 'MOTION_PERMIT', 'Z_OWNED', 'Z_STEP']): void {
  const { board } = box;
  for (const pin of pins) {
    expect(board.pins.isHigh(pin), pin).toBe(false);
    const late = board.recorder.edges(moment_ns, pin).filter(({ high }) => high);
    expect(late, pin).toEqual([]);
  }
}

beforeEach(async () => {
  box = await emulatedBox();
});

describe('inputs', () => {
  // At which moment of a tick it happens decides whether the tick or the port, ten times as often, sees it first.
  const MOMENTS = [
    ['STOP_CHAIN', 3],
    ['STOP_CHAIN', 260],
    ['STOP_CHAIN', 930],
    ['KEY', 520],
  ] as const;
  for (const [pin, after_us] of someOf(MOMENTS, 3, 2)) {
    it(`${pin} lost ${after_us} µs into a tick: the pin is at rest within 0.3 ms, and the permit falls with the next tick`, () => {
      cutAWhile();
      const { board } = box;
      board.run(after_us * 1000);
      // The harder half of the pulse: the pin is up, or about to go up.
      if (board.pins.isHigh('TRIGGER') === after_us < 50) board.run(MS_ns);
      const lost_ns = board.now_ns;
      board.pins.set(pin, false);
      board.run(3 * MS_ns);
      for (const { at_ns } of board.recorder.edges(lost_ns, 'TRIGGER')) {
        expect(at_ns - lost_ns).toBeLessThan(0.3 * MS_ns);
      }
      expect(board.pins.isHigh('TRIGGER')).toBe(false);
      const [fell] = board.recorder.edges(lost_ns, 'MOTION_PERMIT');
      expect(fell.high).toBe(false);
      expect(fell.at_ns - lost_ns).toBeLessThan(1.3 * MS_ns);
    });
  }

  it('stop chain: the fault is told, and Z stops', () => {
    cutAWhile();
    const { recorder } = box.board;
    for (let n = 0; n < 100; n++) {
      runner.controller.digital_inputs &= ~INPUT_STOP_CHAIN;
      box.digital_inputs = RESTING & ~INPUT_STOP_CHAIN;
      box.tick();
    }
    expect(fault()).toBe(FAULT_STOP_CHAIN);
    const steps = recorder.z_steps;
    for (let n = 0; n < 100; n++) box.tick();
    expect(recorder.z_steps).toBe(steps);
  });

  it('an open sensing lead: told as no voltage, trigger off within 150 ms', () => {
    const at_tick = followingTick();
    begin([{ kind: 'open-lead', at_s: at_tick / 1000 }]);
    runner.runBlock(1000);
    while (runner.tick < at_tick) runner.runBlock(Math.min(1000, at_tick - runner.tick));
    expect(mode()).toBe(MODE_FOLLOW);
    const opened_ns = box.board.now_ns;
    runner.runBlock(300);
    expect(fault()).toBe(FAULT_NO_VOLTAGE);
    expect(lastPulse_ns() - opened_ns).toBeLessThan(150 * MS_ns);
  });

  it('a dead converter: the reference tells, the trigger is off within 150 ms and the event is kept', () => {
    cutAWhile();
    const died_ns = box.board.now_ns;
    box.stimulus.dead_converter = true;
    runner.runBlock(400);
    expect(fault()).not.toBe(0);
    expect(lastPulse_ns() - died_ns).toBeLessThan(150 * MS_ns);
    restsFrom(lastPulse_ns() + 1, ['TRIGGER', 'MOTION_PERMIT']);
    expect(eventsNow().map(({ kind }) => kind)).toContain('converter');
  });
});

describe('the processor', () => {
  it('a tick that hangs: no pulse after it, outputs at rest, started again by the watchdog within 11 ms', () => {
    cutAWhile();
    const { board } = box;
    const { processor } = board.chip;
    const handler = processor.load32(BODY_AT + 4 * PEND_SV) & ~1;
    peek16(handler)[0] = BRANCH_TO_SELF;
    const hung_ns = board.now_ns;
    board.runUntil(() => board.chip.resets > 0, 100 * MS_ns);
    const reset_ns = board.now_ns;
    expect(reset_ns - hung_ns).toBeLessThan(11 * MS_ns);
    expect(board.recorder.edges(hung_ns, 'TRIGGER').filter(({ high }) => high)).toEqual([]);
    // A pin that the hung tick left high rests when its successor is due.
    expect(lastPulse_ns() - hung_ns).toBeLessThan(2.2 * MS_ns);
    restsFrom(reset_ns);
    expect(afterwards().boot).toBe('hung');
    restsFrom(reset_ns);
  });

  it('everything hangs, interrupts and all: the watchdog starts it again and no pulse comes', () => {
    cutAWhile();
    const { board } = box;
    const { processor } = board.chip;
    board.runUntil(() => processor.exception === 0, MS_ns);
    processor.masked = 1;
    processor.waiting = false;
    const at = processor.r[PC];
    peek16(at)[0] = BRANCH_TO_SELF;
    const hung_ns = board.now_ns;
    board.runUntil(() => board.chip.resets > 0, 100 * MS_ns);
    expect(board.now_ns - hung_ns).toBeLessThan(11 * MS_ns);
    expect(board.recorder.edges(hung_ns, 'TRIGGER').filter(({ high }) => high)).toEqual([]);
    expect(afterwards().boot).toBe('hung');
  });

  it('the module’s state overwritten: the module goes into a fault, the trigger off, nothing traps', () => {
    cutAWhile();
    const { board } = box;
    const table = exportTable(board, loadImage());
    const state = table.get('state')! - 0x20000000;
    board.chip.processor.memory.fill(0x7f, state, state + table.get('state_bytes')!);
    const spoilt_ns = board.now_ns;
    runner.runBlock(100);
    expect(board.chip.resets).toBe(0);
    expect(lastPulse_ns() - spoilt_ns).toBeLessThan(2 * MS_ns);
  });

  it('a trap of the module: at rest in the same tick, told as a trap', () => {
    cutAWhile();
    const { board } = box;
    // Where the tick begins it meets the trap instead. (The module's own state may be overwritten with anything: every
    // index is masked, and it goes into a fault.)
    const { processor } = board.chip;
    const trap = exportTable(board, loadImage()).get('trap')!;
    const { onEntry } = processor;
    processor.onEntry = (exception) => {
      onEntry(exception);
      if (exception !== PEND_SV) return;
      processor.r[0] = TRAP_KIND;
      processor.r[PC] = trap & ~1;
      processor.onEntry = onEntry;
    };
    const spoilt_ns = board.now_ns;
    board.runUntil(() => board.chip.resets > 0, 100 * MS_ns);
    expect(board.now_ns - spoilt_ns).toBeLessThan(2 * MS_ns);
    const said = afterwards();
    expect(said.boot).toBe('trap');
    expect(said.events.find(({ kind }) => kind === 'trap')).toMatchObject({ detail: TRAP_KIND });
    restsFrom(spoilt_ns);
  });

  it('an instruction where there is none: told as a hard fault, with its place', () => {
    cutAWhile();
    const { board } = box;
    const { processor } = board.chip;
    board.runUntil(() => processor.exception === 0, MS_ns);
    processor.waiting = false;
    processor.r[PC] = 0x30000000;
    const jumped_ns = board.now_ns;
    board.runUntil(() => board.chip.resets > 0, 100 * MS_ns);
    expect(board.now_ns - jumped_ns).toBeLessThan(MS_ns);
    const said = afterwards();
    expect(said.boot).toBe('hard-fault');
    expect(said.events.find(({ kind }) => kind === 'hard-fault')!.value >>> 0).toBe(0x30000000);
    restsFrom(jumped_ns);
  });

  it('a stack that runs over its end: told, and no variable is touched', () => {
    cutAWhile();
    const { board } = box;
    const { processor } = board.chip;
    board.runUntil(() => processor.exception === 0, MS_ns);
    processor.waiting = false;
    // push {r0-r7, lr}; b to it: for ever.
    const at = processor.r[PC];
    peek16(at)[0] = 0xb5ff;
    peek16(at + 2)[0] = 0xe7fd;
    const ran_ns = board.now_ns;
    board.runUntil(() => board.chip.resets > 0, 100 * MS_ns);
    expect(board.now_ns - ran_ns).toBeLessThan(11 * MS_ns);
    expect(board.recorder.edges(ran_ns + MS_ns, 'TRIGGER').filter(({ high }) => high)).toEqual([]);
    expect(afterwards().boot).toBe('stack');
  });

  it('the mark at the end of the stack overwritten: told as the stack', () => {
    cutAWhile();
    const { board } = box;
    const { processor } = board.chip;
    // The lowest marked word: the first of its kind in the box's variables.
    const words = new Uint32Array(processor.memory.buffer);
    const mark = words.indexOf(0x4b415453, (number('BOX_RAM_AT') - 0x20000000) >> 2);
    expect(mark).toBeGreaterThan(0);
    words[mark] = 0;
    const spoilt_ns = board.now_ns;
    board.runUntil(() => board.chip.resets > 0, 100 * MS_ns);
    expect(board.now_ns - spoilt_ns).toBeLessThan(MS_ns);
    expect(afterwards().boot).toBe('stack');
    restsFrom(board.now_ns);
  });

  it('after any of them it is at rest and disarmed, with the key still on', () => {
    cutAWhile();
    const { board } = box;
    board.chip.processor.waiting = false;
    board.runUntil(() => board.chip.processor.exception === 0, MS_ns);
    board.chip.processor.r[SP] = 0x30000000;
    board.chip.processor.waiting = false;
    board.runUntil(() => board.chip.resets > 0, 100 * MS_ns);
    afterwards();
    box.listen();
    const restarted_ns = board.now_ns;
    runner.runBlock(1000);
    expect(mode()).toBe(MODE_REST);
    restsFrom(restarted_ns);
  });
});

describe('the link lost in the middle of a cut', () => {
  it('stops nothing: the cut goes on to its end, and the box answers again at 115200', () => {
    cutAWhile();
    const { board } = box;
    // Unplugged: what the host sends does not arrive, what the box sends is not seen.
    const heard = board.onByte;
    board.onByte = () => {};
    board.chip.uart.outside_baud = 1;
    const cut_ns = board.now_ns;
    runner.runBlock(1000);
    expect(lastPulse_ns()).toBeGreaterThan(cut_ns + 990 * MS_ns);
    board.onByte = heard;
    board.chip.uart.outside_baud = 0;
    board.chip.uart.dropLine();
    const answer = box.link.try('identity', undefined, 2e9) ?? box.link.ask('identity', undefined, 2e9);
    expect(decodeLayout('identity', answer.payload)!.values.in_loader).toBe(0);
  });
});

describe('functions of the image', () => {
  it('are where its head says', () => {
    expect(new ImageExports(box.board, loadImage()).call('set_parameter', 100_000, 0)).toBe(1);
  });
});

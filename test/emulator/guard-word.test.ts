/**
 * What stands at the emulated pins is what the control module says, in every tick: the shipped image against the same module
 * in this process, which is given what the box has sampled. The same over 100 000 ticks, natively: box-ticks.test.ts.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { FAULT_OVERRUN, FAULT_RELAY_CLOSED, MODE_PIERCE, PARAMETER_COUNT } from '../../firmware/wire/codes.gen.js';
import * as wire from '../../firmware/wire/layout.gen.js';
import { Random } from '../../sim/base/index.js';
import { type EmulatedBoard, EmulatedController } from '../../sim/emulator/index.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, Runner } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { emulatedBox, RESTING } from './cutting.js';
import { exportTable } from './image-exports.js';
import { loadImage } from './images.js';

const CUT_TICKS = 7000;
const RANDOM_TICKS = 2500;
const RAM_AT = 0x20000000;
const MS_ns = 1e6;
/** A tick is over long before. */
const TICK_ns = 400_000;
/** More than a tick has time for. */
const STALL_CYCLES = 140_000;

/** The module in this process, brought to the state of the one in the box, and compared after each of its ticks. */
class Twin {
  ticks = 0;
  z_sum = 0;
  late = 0;
  readonly faults = new Set<number>();
  readonly modes = new Set<number>();
  private readonly module = new WasmController(loadControlModule());
  private readonly at: ReadonlyMap<string, number>;
  private rises: number;
  private falls: number;
  private z_before: number;

  constructor(private readonly board: EmulatedBoard) {
    this.at = exportTable(board, loadImage());
    const parameters = this.bytes('parameters', PARAMETER_COUNT * 4);
    const values = new Float32Array(parameters.slice().buffer);
    for (const [id, value] of values.entries()) this.module.setParameter(id, value);
    this.module.state().set(this.bytes('state', this.module.state().length));
    const { recorder } = board;
    this.rises = recorder.trigger_rises;
    this.falls = recorder.trigger_falls;
    this.z_before = recorder.z_steps;
  }

  private bytes(name: string, length: number): Uint8Array {
    const at = this.at.get(name)! - RAM_AT;
    return this.board.chip.processor.memory.subarray(at, at + length);
  }

  /** After one tick of the box. @param taken the port may have taken the trigger away since */
  compare(taken = false): void {
    const { module, board } = this;
    const { recorder, pins } = board;
    module.inputs = this.bytes('input', wire.INPUT_BYTES);
    module.tick();
    this.ticks++;
    const { integers } = module.output;
    this.faults.add(integers[wire.OUTPUT_FAULT / 4]);
    this.modes.add(integers[wire.OUTPUT_MODE / 4]);
    if ((module.digital_inputs & wire.INPUT_OVERRUN) !== 0) this.late++;
    const mine = new Uint8Array(integers.buffer, integers.byteOffset, wire.OUTPUT_BYTES);
    expect(Buffer.compare(mine, this.bytes('output', wire.OUTPUT_BYTES)), `output of tick ${this.ticks}`).toBe(0);
    const where = `tick ${this.ticks}`;
    const { digital_outputs } = module;
    expect(pins.digital_outputs & ~wire.OUTPUT_TRIGGER, where).toBe(digital_outputs & ~wire.OUTPUT_TRIGGER);
    const rose = recorder.trigger_rises - this.rises;
    const fell = recorder.trigger_falls - this.falls;
    this.rises = recorder.trigger_rises;
    this.falls = recorder.trigger_falls;
    if (!taken)
      expect((digital_outputs & wire.OUTPUT_TRIGGER) !== 0 ? rose + fell : rose, where).toBe(
        digital_outputs & wire.OUTPUT_TRIGGER,
      );
    // The pulses of a tick go on into the next millisecond; those of the tick before are all there.
    const done = recorder.z_steps - this.z_before;
    const next = this.z_sum + module.z_steps;
    expect(done, where).toBeGreaterThanOrEqual(Math.min(this.z_sum, next));
    expect(done, where).toBeLessThanOrEqual(Math.max(this.z_sum, next));
    this.z_sum = next;
  }
}

/** The emulated box as a controller whose every tick is compared. */
class ComparedBox extends EmulatedController {
  twin: Twin | undefined;

  override tick(): void {
    const before = this.board.tick.count;
    super.tick();
    if (this.twin === undefined) this.twin = new Twin(this.board);
    else {
      expect(this.board.tick.count).toBe(before + 1);
      this.twin.compare();
    }
  }
}

let box: ComparedBox;
beforeAll(async () => {
  const { board } = await emulatedBox();
  box = new ComparedBox(board, { digital_inputs: RESTING });
}, 120_000);

describe('the pins of the emulated box', () => {
  it('say what the module says in a cut whose readback then sticks', () => {
    const { box: parameters, machine, world } = exampleSetup();
    const faults = [
      { kind: 'reference-off', at_s: 6, for_s: 0.004 },
      { kind: 'stuck-readback', at_s: 6.6, value: 1 },
    ] as const;
    const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
    const operator = [
      { at_s: 0.2, line: 'key', on: true },
      { at_s: 6.6, line: 'request', on: false },
    ] as const;
    const runner = new Runner({
      ...{ box: parameters, machine, world: { ...world, faults }, plan, seed: 3, controller: box, operator },
    });
    while (runner.tick < CUT_TICKS && !runner.finished) runner.runBlock(100);
    expect(box.twin!.ticks).toBeGreaterThan(CUT_TICKS / 2);
    expect(box.twin!.modes.has(MODE_PIERCE)).toBe(true);
    expect(box.twin!.faults.has(FAULT_RELAY_CLOSED)).toBe(true);
  }, 400_000);

  it('say what the module says while everything at them is random, also after ticks that were late', () => {
    const { board, stimulus } = box;
    const twin = box.twin!;
    const random = new Random(5);
    const { processor, clock } = board.chip;
    const stall = clock.createAlarm(() => processor.stall(STALL_CYCLES));
    const late_before = twin.late;
    const step = (late: boolean) => {
      const count = board.tick.count;
      if (late) stall.schedule(MS_ns - TICK_ns + 10_000);
      board.runUntil(() => board.tick.count > count, 3 * MS_ns);
      board.run(TICK_ns);
      if (late) board.runUntil(() => processor.exception === 0, 3 * MS_ns);
      expect(board.tick.count).toBe(count + 1);
      twin.compare(late);
    };
    // Out of the fault of the cut first.
    stimulus.readings.fill(124);
    for (const [digital_inputs, ticks] of [
      [RESTING, 50],
      [RESTING | wire.INPUT_RESET, 5],
      [RESTING | wire.INPUT_KEY, 5],
    ] as const) {
      stimulus.begin(digital_inputs, 0, 0);
      for (let n = 0; n < ticks; n++) step(false);
    }
    step(true);
    let digital_inputs = RESTING;
    for (let n = 0; n < RANDOM_TICKS; n++) {
      // Between a tick and the sampling of the next one.
      if (random.chance(0.01)) digital_inputs = random.next_u32() & 0x5ff;
      if (random.chance(0.02)) stimulus.reference = random.chance(0.6) ? 2048 : random.next_u32() & 4095;
      if (random.chance(0.02)) stimulus.readings.fill(random.next_u32() & 4095);
      stimulus.begin(digital_inputs, 0, 0);
      step(random.chance(0.01));
    }
    expect(twin.late).toBeGreaterThan(late_before + 5);
    expect(twin.faults.has(FAULT_OVERRUN)).toBe(true);
  }, 400_000);
});

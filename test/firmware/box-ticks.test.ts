/**
 * What the box puts out is what the control module says, bit for bit, in every tick: the box on the PC's board against the
 * module in this process, with faults of the readback, of the reference and late ticks, in cuts and at random.
 */
import { spawnSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { FAULT_ROWS, MODE_ROWS } from '../../firmware/wire/code-rows.js';
import * as wire from '../../firmware/wire/layout.gen.js';
import { Random } from '../../sim/base/index.js';
import { type ControlModule, loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { ArbitraryInputs, motionLimits, Runner } from '../../sim/run/loop/index.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import type { Fault, FaultKind } from '../../sim/world/plant/index.js';
import { describeAgainst } from '../reference/support.js';
import { amount } from '../support/volume.js';
import { buildBox } from './box-native.js';
import { GCC } from './loader-native.js';

const TICKS = amount(100_000, 46_000);
const ARBITRARY_TICKS = amount(40_000, 10_000);
const CUT_TICKS = amount(15_000, 9000);
const KINDS: readonly FaultKind[] = ['welded-relay', 'stuck-readback', 'reference-off', 'late-tick'];
/** Bytes that the box says of a tick: outputs, Z steps, output block. */
const SAID = 8 + wire.OUTPUT_BYTES;

/** The module in this process, with what goes in and what a box must say. */
class Written extends WasmController {
  ticks = 0;
  readonly given: Uint8Array[] = [];
  readonly expected: Uint8Array[] = [];

  constructor(
    module: ControlModule,
    private readonly before: (controller: WasmController) => void = () => {},
  ) {
    super(module);
  }

  override tick(): void {
    this.before(this);
    this.given.push(this.inputs.slice());
    super.tick();
    look(this);
    this.ticks++;
    const { buffer, byteOffset } = this.output.integers;
    this.expected.push(
      Uint8Array.from([...new Uint8Array(new Int32Array([this.digital_outputs, this.z_steps]).buffer)]),
    );
    this.expected.push(new Uint8Array(buffer, byteOffset, wire.OUTPUT_BYTES).slice());
  }
}

const MODULE = loadControlModule();
const seen = { modes: new Set<number>(), faults: new Set<number>(), late: 0, dead: 0, against: 0 };

function look({ output, digital_inputs, digital_outputs }: WasmController): void {
  const { integers } = output;
  seen.modes.add(integers[wire.OUTPUT_MODE / 4]);
  seen.faults.add(integers[wire.OUTPUT_FAULT / 4]);
  if ((digital_inputs & wire.INPUT_OVERRUN) !== 0) seen.late++;
  if ((digital_inputs & wire.INPUT_RELAY) !== 0 && (digital_outputs & wire.OUTPUT_TRIGGER) === 0) seen.against++;
  if ((integers[wire.OUTPUT_FLAGS / 4] & wire.FLAG_CONVERTER_DEAD) !== 0) seen.dead++;
}

/** A cut of the example in which one of the four comes, at any moment and for any time. */
function cutLeg(number: number, most: number): Written {
  const { box, machine, world } = defaultSetup();
  const random = new Random(77, number);
  const kind = KINDS[number % KINDS.length];
  const value = kind === 'reference-off' ? { value: random.next_u32() & 4095 } : {};
  const failing: Fault = { kind, at_s: random.between(6.2, 6.6), for_s: random.between(0.01, 2), ...value };
  const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
  const controller = new Written(MODULE, (one) => {
    // Shorter than what counts: the cut goes on.
    if (random.chance(0.01)) one.reference = random.next_u32() & 4095;
    if (random.chance(0.01)) one.digital_inputs ^= wire.INPUT_RELAY;
  });
  const runner = new Runner({ box, machine, world: { ...world, faults: [failing] }, plan, seed: number, controller });
  while (!runner.finished && controller.ticks < most) {
    runner.runBlock(Math.min(1000, most - controller.ticks));
  }
  return controller;
}

function arbitraryLeg(): Written {
  const controller = new Written(MODULE);
  const arbitrary = new ArbitraryInputs(new Random(78));
  while (controller.ticks < ARBITRARY_TICKS) {
    arbitrary.draw(controller);
    // No pin says this: the box itself does, in lockstep.
    controller.digital_inputs &= ~wire.INPUT_REST;
    controller.tick();
  }
  return controller;
}

describeAgainst(GCC, 'the box and the control module', (gcc) => {
  it(`say the same in ${TICKS} ticks with a stuck readback, a wrong reference and late ticks`, () => {
    const program = buildBox(gcc, { program: 'ticks' });
    let left = TICKS;
    for (let number = 0; left > 0; number++) {
      const leg = number === 0 ? arbitraryLeg() : cutLeg(number, Math.min(left, CUT_TICKS));
      const run = spawnSync(program, { input: Buffer.concat(leg.given), maxBuffer: 1 << 26 });
      expect(run.stderr.toString()).toBe('');
      const expected = Buffer.concat(leg.expected);
      expect(run.stdout.length).toBe(expected.length);
      const differing = run.stdout.equals(expected) ? -1 : run.stdout.findIndex((byte, at) => byte !== expected[at]);
      expect(differing < 0 ? -1 : Math.floor(differing / SAID), `first tick of leg ${number} that differs`).toBe(-1);
      left -= leg.ticks;
    }
    expect(seen.modes.size).toBe(MODE_ROWS.length);
    const names = [...seen.faults].map((fault) => FAULT_ROWS[fault].name);
    expect(names).toEqual(expect.arrayContaining(['relay-closed', 'overrun', 'reading-saturated', 'voltage-at-rest']));
    expect(Math.min(seen.late, seen.dead, seen.against)).toBeGreaterThan(1);
  }, 300_000);
});

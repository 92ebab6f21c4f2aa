/** The control module in the shipped image, on the emulated Cortex-M0+, against the same module in V8: the same bytes. */
import { beforeAll, describe, expect, it } from 'vitest';
import { PARAMETER_COUNT } from '../../firmware/wire/codes.gen.js';
import * as layout from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { Random } from '../../sim/base/index.js';
import { EmulatedBoard } from '../../sim/emulator/index.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, Runner } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { amount } from '../support/volume.js';
import { ImageExports } from './image-exports.js';
import { loadImage, loadLoader } from './images.js';

const CUT_TICKS = amount(60_000, 20_000);
const ARBITRARY_TICKS = amount(40_000, 16_000);
const HIGHEST_COUNT = 4095;
const ZERO_COUNTS = 124;

let image: ImageExports;
const float_bits = new Int32Array(1);
const floats = new Float32Array(float_bits.buffer);
const bitsOf = (value: number): number => {
  floats[0] = value;
  return float_bits[0];
};

beforeAll(async () => {
  const file = loadImage();
  image = new ImageExports(await EmulatedBoard.create({ loader: loadLoader(), image: file }), file);
}, 60_000);

/** The module in this process; after each tick the one in the image is given the same and has to say the same. */
class ComparedController extends WasmController {
  ticks = 0;
  worst_cycles = 0;
  readonly modes = new Set<number>();
  private readonly theirs_input = image.bytes('input', layout.INPUT_BYTES);
  private readonly theirs_output = image.bytes('output', layout.OUTPUT_BYTES);
  private readonly theirs_state = image.state;
  private readonly mine_output: Uint8Array;
  private readonly mine_state: Uint8Array;

  constructor() {
    super(loadControlModule());
    const { integers } = this.output;
    this.mine_output = new Uint8Array(integers.buffer, integers.byteOffset, integers.byteLength);
    this.mine_state = this.state();
    image.call('load_defaults');
  }

  override setParameter(id: number, value: number): number {
    const answer = super.setParameter(id, value);
    expect(image.call('set_parameter', id, bitsOf(value))).toBe(answer);
    return answer;
  }

  override powerUp(): void {
    super.powerUp();
    image.call('power_up');
  }

  override tick(): void {
    this.theirs_input.set(this.inputs);
    super.tick();
    image.call('tick');
    this.ticks++;
    this.modes.add(this.output.integers[layout.OUTPUT_MODE / 4]);
    this.worst_cycles = Math.max(this.worst_cycles, image.cycles);
    if (Buffer.compare(this.mine_output, this.theirs_output) !== 0) {
      expect([...this.theirs_output], `output of tick ${this.ticks}`).toEqual([...this.mine_output]);
    }
    if (Buffer.compare(this.mine_state, this.theirs_state) !== 0) {
      expect([...this.theirs_state], `state after tick ${this.ticks}`).toEqual([...this.mine_state]);
    }
  }
}

/** A cut that is disturbed at random: wild readings, wrong steps, holds. */
class DisturbedController extends ComparedController {
  private readonly random = new Random(11);

  override tick(): void {
    const { random } = this;
    if (random.chance(0.01)) this.readings[random.next_u32() & 7] = random.next_u32() & HIGHEST_COUNT;
    // Before the motion permit such steps end the cut.
    if ((this.digital_outputs & layout.OUTPUT_PERMIT) !== 0) {
      if (random.chance(0.02)) this.x_steps += Math.floor(random.between(-9, 9));
      if (random.chance(0.3)) this.y_steps += Math.floor(random.between(-2, 2));
    }
    if (random.chance(0.01)) this.digital_inputs |= layout.INPUT_HOLD;
    super.tick();
  }
}

describe('the module in the image says what the module in this process says, byte for byte', () => {
  it('while it cuts the example, disturbed at random', () => {
    const { box, machine, world } = exampleSetup();
    const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
    const controller = new DisturbedController();
    // Odd fractions where the arithmetic of a cut would otherwise see round numbers.
    const drawn = { gain_p_per_s: 17.31, gain_i_per_s2: 83.7, smoothing_ms: 3.3, slope_path_mm: 21.7 };
    const runner = new Runner({ box: { ...box, ...drawn }, machine, world, plan, seed: 3, controller });
    while (runner.tick < CUT_TICKS && !runner.finished) runner.runBlock();
    while (controller.ticks < CUT_TICKS) controller.tick();
    expect(controller.modes.size).toBeGreaterThanOrEqual(10);
  }, 400_000);

  it('with arbitrary inputs, and between parameters of all kinds', () => {
    // A draw that gets past rest and fault: most sets of parameters contradict each other and refuse every start.
    const random = new Random(9);
    const controller = new ComparedController();
    let usual_counts = ZERO_COUNTS;
    while (controller.ticks < ARBITRARY_TICKS) {
      controller.digital_inputs &= ~layout.INPUT_REST;
      if (random.chance(0.005)) controller.digital_inputs = random.next_u32() & 1023;
      // A contact that is closed against the trigger latches, so it comes seldom and opens again.
      if (random.chance(0.002)) controller.digital_inputs ^= layout.INPUT_RELAY;
      if (random.chance(0.001)) controller.digital_inputs |= layout.INPUT_REST;
      if (random.chance(0.01))
        controller.reference = random.chance(0.9) ? layout.REFERENCE_COUNTS : random.next_u32() & HIGHEST_COUNT;
      if (random.chance(0.01)) {
        controller.digital_inputs |=
          layout.INPUT_KEY | layout.INPUT_STOP_CHAIN | layout.INPUT_BREAKAWAY | layout.INPUT_REQUEST;
      }
      if (random.chance(0.005))
        controller.digital_inputs ^= random.chance(0.5) ? layout.INPUT_REQUEST : layout.INPUT_KEY;
      if (random.chance(0.003)) usual_counts = random.chance(0.5) ? ZERO_COUNTS : random.between(0, HIGHEST_COUNT);
      for (let n = 0; n < controller.readings.length; n++) {
        controller.readings[n] = Math.max(0, usual_counts + random.gaussian() * 3);
      }
      controller.x_steps = Math.floor(random.between(-20, 20));
      controller.y_steps = random.chance(0.01) ? random.next_u32() : Math.floor(random.between(-20, 20));
      if (random.chance(0.001)) {
        // The image's power-up clears the inputs as well: a tick without any makes the two alike.
        controller.digital_inputs = 0;
        controller.tick();
        controller.powerUp();
        const row = PARAMETER_ROWS[Math.floor(random.between(0, PARAMETER_COUNT))];
        controller.setParameter(row.id, random.between(row.min, row.max));
        controller.setParameter(row.id, row.max + 1);
      }
      controller.tick();
    }
    expect(controller.modes.size).toBeGreaterThanOrEqual(3);
  }, 400_000);
});

import { INPUT_BYTES, OUTPUT_BYTES } from '../../../firmware/wire/layout.gen.js';
import { Random } from '../../base/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../../world/motion/index.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { ArbitraryInputs, motionLimits, Runner, setParameters } from '../loop/index.js';
import { type Box, exampleSetup } from '../setup/index.js';

/** Ticks of the module on the desk: input blocks, and its output blocks. */
export interface DeskTicks {
  readonly count: number;
  readonly inputs: Uint8Array;
  readonly outputs: Uint8Array;
}

/** Ticks from a power-up on. Before a leg both modules get their defaults, a power-up and then `box`. */
export interface DeskLeg {
  readonly box: Box;
  /** The next ticks, at most this many; fewer at the end of the leg, 0 after it. */
  next(ticks: number): DeskTicks;
}

/** The most ticks that are kept at a time. */
export const CHUNK_TICKS = 1000;

/** The module on the desk, recording what goes in and what comes out. */
class Recorder extends WasmController {
  private readonly given = new Uint8Array(CHUNK_TICKS * INPUT_BYTES);
  private readonly answered = new Uint8Array(CHUNK_TICKS * OUTPUT_BYTES);
  private count = 0;

  override tick(): void {
    this.given.set(this.inputs, this.count * INPUT_BYTES);
    super.tick();
    const { buffer, byteOffset } = this.output.integers;
    this.answered.set(new Uint8Array(buffer, byteOffset, OUTPUT_BYTES), this.count * OUTPUT_BYTES);
    this.count++;
  }

  /** What was recorded since the last call. */
  taken(): DeskTicks {
    const { count } = this;
    this.count = 0;
    return {
      count,
      inputs: this.given.slice(0, count * INPUT_BYTES),
      outputs: this.answered.slice(0, count * OUTPUT_BYTES),
    };
  }
}

/** The example cut, simulated with the module on the desk; each seed is another sheet and other noise. */
export function cutLeg(module: ControlModule, seed: number): DeskLeg {
  const { box, machine, world } = exampleSetup();
  const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME), motionLimits(machine));
  const controller = new Recorder(module);
  controller.powerUp();
  const runner = new Runner({ box, machine, world, plan, seed, controller });
  return {
    box,
    next(ticks) {
      if (!runner.finished) runner.runBlock(Math.min(ticks, CHUNK_TICKS));
      return controller.taken();
    },
  };
}

/** Arbitrary inputs, readings and steps, from a power-up with the example's parameters; it never ends. */
export function randomLeg(module: ControlModule, seed: number): DeskLeg {
  const { box } = exampleSetup();
  const random = new Random(seed);
  const controller = new Recorder(module);
  controller.powerUp();
  setParameters(controller, box);
  const arbitrary = new ArbitraryInputs(random);
  return {
    box,
    next(ticks) {
      for (let left = Math.min(ticks, CHUNK_TICKS); left > 0; left--) {
        arbitrary.draw(controller);
        controller.tick();
      }
      return controller.taken();
    },
  };
}

import {
  INPUT_BYTES,
  INPUT_LINES,
  INPUT_X_STEPS,
  INPUT_Y_STEPS,
  LINE_BREAKAWAY,
  LINE_KEY,
  LINE_REQUEST,
  LINE_RESET,
  LINE_STOP_CHAIN,
  LINE_TOP,
  OUTPUT_BYTES,
} from '../../firmware/wire/layout.js';
import { Random } from '../base/index.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { motionLimits, Runner, setParameters } from '../loop/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM, parseProgram, planProgram } from '../motion/index.js';
import { type Box, exampleSetup } from '../setup/index.js';

/** Ticks as the module on the desk had them: input blocks, and the output blocks that it answered with. */
export interface DeskTicks {
  readonly count: number;
  readonly inputs: Uint8Array;
  readonly outputs: Uint8Array;
}

/** Ticks from a power-up on. Before each leg both modules get their defaults, a power-up and then `box`. */
export interface DeskLeg {
  readonly box: Box;
  /** The next ticks, at most so many; fewer at the end of the leg, 0 after it. */
  next(ticks: number): DeskTicks;
}

/** The most ticks that are kept at a time. */
export const CHUNK_TICKS = 1000;
const HIGHEST_COUNT = 4095;
const QUIET_COUNTS = 124;
const POWER_UP_TICKS = 50;

/** The module on the desk, writing down what goes in and what comes out. */
class Recorder extends WasmController {
  private inputs = new Uint8Array(CHUNK_TICKS * INPUT_BYTES);
  private outputs = new Uint8Array(CHUNK_TICKS * OUTPUT_BYTES);
  private count = 0;

  override tick(): void {
    const at = this.count * INPUT_BYTES;
    const view = new DataView(this.inputs.buffer, at, INPUT_BYTES);
    for (let k = 0; k < this.readings.length; k++) view.setUint16(2 * k, this.readings[k]!, true);
    view.setInt32(INPUT_LINES, this.lines, true);
    view.setInt32(INPUT_X_STEPS, this.x_steps, true);
    view.setInt32(INPUT_Y_STEPS, this.y_steps, true);
    super.tick();
    const { buffer, byteOffset } = this.output.integers;
    this.outputs.set(new Uint8Array(buffer, byteOffset, OUTPUT_BYTES), this.count * OUTPUT_BYTES);
    this.count++;
  }

  /** What was written down since the last time. */
  taken(): DeskTicks {
    const { count } = this;
    this.count = 0;
    return {
      count,
      inputs: this.inputs.slice(0, count * INPUT_BYTES),
      outputs: this.outputs.slice(0, count * OUTPUT_BYTES),
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

/** Lines that flip, readings and steps without sense, from a power-up that makes sense; it never ends. */
export function randomLeg(module: ControlModule, seed: number): DeskLeg {
  const { box } = exampleSetup();
  const random = new Random(seed);
  const controller = new Recorder(module);
  controller.powerUp();
  setParameters(controller, box);
  let tick = 0;
  let usual_counts = QUIET_COUNTS;
  const draw = (): void => {
    // Most of the time what lets a cut go on; now and then everything is thrown over.
    if (tick++ < POWER_UP_TICKS) controller.lines = LINE_STOP_CHAIN | LINE_BREAKAWAY | LINE_TOP;
    else if (random.chance(0.005)) controller.lines = random.next_u32() & 1023;
    if (random.chance(0.01)) controller.lines |= LINE_KEY | LINE_STOP_CHAIN | LINE_BREAKAWAY | LINE_REQUEST;
    if (random.chance(0.005)) controller.lines ^= random.chance(0.5) ? LINE_RESET | LINE_REQUEST : LINE_KEY;
    if (random.chance(0.003)) usual_counts = random.chance(0.5) ? QUIET_COUNTS : random.between(0, HIGHEST_COUNT);
    for (let k = 0; k < controller.readings.length; k++)
      controller.readings[k] = random.chance(0.01) ? random.next_u32() : usual_counts + random.between(-60, 60);
    controller.x_steps = Math.floor(random.between(-12, 12));
    controller.y_steps = random.chance(0.01) ? random.next_u32() : Math.floor(random.between(-12, 12));
  };
  return {
    box,
    next(ticks) {
      for (let left = Math.min(ticks, CHUNK_TICKS); left > 0; left--) {
        draw();
        controller.tick();
      }
      return controller.taken();
    },
  };
}

import { createHash } from 'node:crypto';
import { Z_STEPS_MOST } from '../../../firmware/ports/rp2040/board-rows.js';
import { PARAMETER_COUNT } from '../../../firmware/wire/codes.gen.js';
import {
  INPUT_BYTES,
  INPUT_CAPACITY,
  INPUT_DIGITAL,
  INPUT_READINGS,
  INPUT_REFERENCE,
  INPUT_X_STEPS,
  INPUT_Y_STEPS,
  LAYOUT,
  OUTPUT_BYTES,
  OUTPUT_DIGITAL,
  OUTPUT_Z_STEPS,
  READINGS_PER_TICK,
  REFERENCE_COUNTS,
} from '../../../firmware/wire/layout.gen.js';
import { StandoffError } from '../../base/index.js';
import { packageFile, REBUILD, readModule } from '../../base/package/files.js';
import type { Controller, ControllerOutput } from './controller.js';

/** What stands for the module where another one is linked to it. */
export interface LinkedModule {
  readonly memory: { readonly buffer: ArrayBuffer; grow(pages: number): number };
  input(): number;
  output(): number;
  parameters(): number;
  state(): number;
  tick(): void;
}

/** What the module exports; see firmware/control/module.ts. */
interface ModuleExports extends LinkedModule {
  layout(): number;
  state_bytes(): number;
  power_up(): void;
  restart(fault: number): void;
  load_defaults(): void;
  set_parameter(id: number, value: number): number;
  contradiction(): number;
}

/** The module as built, compiled once; each run makes an instance of its own. */
export interface ControlModule {
  readonly bytes: Uint8Array;
  /** Lower-case hex. */
  readonly sha256: string;
  /** As the engine has it; no user of the package needs types for it. */
  readonly compiled: object;
}

/**
 * Loads the control module as built.
 * @param file another module file, such as one with a planted defect
 * @throws StandoffError `module-missing`, `module-format`, `module-build`
 */
export function loadControlModule(file = packageFile('dist/firmware/control.wasm')): ControlModule {
  const { bytes, compiled } = readModule(file, 'control module');
  const module = controlModule(bytes, compiled);
  if (layoutOf(module) === LAYOUT) return module;
  throw new StandoffError('module-build', `${file} is no control module of this build of Standoff`, REBUILD);
}

/** What the module says that it was built of; undefined for one that does not say it, or wants imports as ours never did. */
function layoutOf({ compiled }: ControlModule): number | undefined {
  try {
    const exports = new WebAssembly.Instance(compiled, {}).exports as Partial<ModuleExports>;
    return exports.layout?.();
  } catch {
    return undefined;
  }
}

export function controlModule(
  bytes: Uint8Array<ArrayBuffer>,
  compiled: object = new WebAssembly.Module(bytes),
): ControlModule {
  return {
    bytes,
    sha256: createHash('sha256').update(bytes).digest('hex'),
    compiled,
  };
}

// Of this module's own, because the engine folds its constants and not imported ones.
const AT_INPUT_DIGITAL = INPUT_DIGITAL / 4;
const AT_INPUT_X_STEPS = INPUT_X_STEPS / 4;
const AT_INPUT_Y_STEPS = INPUT_Y_STEPS / 4;
const AT_INPUT_REFERENCE = INPUT_REFERENCE / 4;
const AT_INPUT_CAPACITY = INPUT_CAPACITY / 4;
const HALF_OF_RANGE = REFERENCE_COUNTS;
const CAPACITY = Z_STEPS_MOST;
const AT_OUTPUT_Z_STEPS = OUTPUT_Z_STEPS / 4;
const AT_OUTPUT_LINES = OUTPUT_DIGITAL / 4;

/** Of memory: the control module needs one. */
const PAGE_BYTES = 65_536;

/** The control module in this process: a few nanoseconds a call. */
export class WasmController implements Controller {
  readonly module_sha256: string;
  readings!: Uint16Array;
  output!: ControllerOutput;

  private readonly exports: ModuleExports;
  private readonly run: () => void;
  private input!: Int32Array;
  private values!: Float32Array;
  private memory!: Uint8Array;
  private readonly fresh: Uint8Array;

  /** @param pages of 64 KiB: its own, and what another module puts behind it */
  constructor(module: ControlModule, pages = 1) {
    const instance = new WebAssembly.Instance(module.compiled, {});
    const exports = instance.exports as unknown as ModuleExports;
    exports.memory.grow(pages - 1);
    this.exports = exports;
    this.run = exports.tick;
    this.module_sha256 = module.sha256;
    this.look();
    this.reference = HALF_OF_RANGE;
    this.capacity = CAPACITY;
    exports.load_defaults();
    this.fresh = this.memory.slice();
  }

  /** The memory as numbers; again after it has grown. */
  private look(): void {
    const { exports } = this;
    const { buffer } = exports.memory;
    this.input = new Int32Array(buffer, exports.input(), INPUT_BYTES / 4);
    this.readings = new Uint16Array(buffer, exports.input() + INPUT_READINGS, READINGS_PER_TICK);
    this.output = {
      integers: new Int32Array(buffer, exports.output(), OUTPUT_BYTES / 4),
      reals: new Float32Array(buffer, exports.output(), OUTPUT_BYTES / 4),
    };
    this.values = new Float32Array(buffer, exports.parameters(), PARAMETER_COUNT);
    this.memory = new Uint8Array(buffer, 0, PAGE_BYTES);
  }

  /**
   * As good as a new instance: the module has no state outside its memory (decision 2). Ten times as fast, and the engine
   * calls one function for a whole campaign instead of a new one each run.
   */
  renew(): void {
    this.memory.set(this.fresh);
  }

  get digital_inputs(): number {
    return this.input[AT_INPUT_DIGITAL];
  }
  set digital_inputs(bits: number) {
    this.input[AT_INPUT_DIGITAL] = bits;
  }

  get x_steps(): number {
    return this.input[AT_INPUT_X_STEPS];
  }
  set x_steps(steps: number) {
    this.input[AT_INPUT_X_STEPS] = steps;
  }

  get y_steps(): number {
    return this.input[AT_INPUT_Y_STEPS];
  }
  set y_steps(steps: number) {
    this.input[AT_INPUT_Y_STEPS] = steps;
  }

  get reference(): number {
    return this.input[AT_INPUT_REFERENCE];
  }
  set reference(counts: number) {
    this.input[AT_INPUT_REFERENCE] = counts;
  }

  /** Z steps that the board says it can put out in a millisecond. */
  get capacity(): number {
    return this.input[AT_INPUT_CAPACITY];
  }
  set capacity(steps: number) {
    this.input[AT_INPUT_CAPACITY] = steps;
  }

  /** The input block as the next tick gets it; a view. To be set as a whole. */
  get inputs(): Uint8Array {
    const { buffer, byteOffset } = this.input;
    return new Uint8Array(buffer, byteOffset, INPUT_BYTES);
  }
  set inputs(block: Uint8Array) {
    this.inputs.set(block.subarray(0, INPUT_BYTES));
  }

  tick(): void {
    this.run();
  }

  get z_steps(): number {
    return this.output.integers[AT_OUTPUT_Z_STEPS];
  }

  get digital_outputs(): number {
    return this.output.integers[AT_OUTPUT_LINES];
  }

  setParameter(id: number, value: number): number {
    return this.exports.set_parameter(id, value);
  }

  parameter(id: number): number {
    return this.values[id];
  }

  /** Ids of two parameters that contradict each other; undefined: none do. */
  contradiction(): readonly [number, number] | undefined {
    const pair = this.exports.contradiction();
    return pair === 0 ? undefined : [pair >>> 16, pair & 0xffff];
  }

  /** Power-up with the parameters kept. */
  powerUp(): void {
    this.exports.power_up();
  }

  /** A restart of the board: power-up, but a fault that sets the latched stop stands again. @param fault code of before; 0: none */
  restart(fault: number): void {
    this.exports.restart(fault);
  }

  /** What a module that runs ticks in a row, without the host in between, imports, and where it finds the blocks. */
  get linked(): LinkedModule {
    return this.exports;
  }

  /** Whether `linked` does all that `tick` does: not where a derived class has a tick of its own. */
  get runsLinked(): boolean {
    return this.tick === WasmController.prototype.tick;
  }

  /** Makes the memory larger by pages of 64 KiB. The views of this object are renewed. */
  grow(pages: number): void {
    this.exports.memory.grow(pages);
    this.look();
  }

  /** The whole state region, for snapshot, restore and comparison. */
  state(): Uint8Array {
    return new Uint8Array(this.exports.memory.buffer, this.exports.state(), this.exports.state_bytes());
  }
}

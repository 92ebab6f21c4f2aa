/**
 * Two modules on one memory: the control module reads and writes nothing but its own 4608 bytes, for in the box there is
 * nothing else; the world sees of the controller what a row names, and nothing more.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { OUTPUT_DIGITAL, OUTPUT_MODE, OUTPUT_Z_STEPS } from '../../../firmware/wire/layout.gen.js';
import { Random } from '../../../sim/base/index.js';
import { type ControlModule, loadControlModule, WasmController } from '../../../sim/run/controller/index.js';
import { controlModule } from '../../../sim/run/controller/wasm.js';
import { ArbitraryInputs, motionLimits, Runner, setParameters } from '../../../sim/run/loop/index.js';
import { exampleSetup } from '../../../sim/run/setup/index.js';
import {
  CELL_PLACES,
  loadWorldModule,
  standAlone,
  WorldInstance,
  type WorldModule,
} from '../../../sim/world/cells/index.js';
import { EXAMPLE_PROGRAM, MotionPlayer, parseProgram, planProgram } from '../../../sim/world/motion/index.js';
import { World } from '../../../sim/world/plant/index.js';
import { buildModule, compiled } from '../../mutants/build.js';

const { box, machine, world } = exampleSetup();
const plan = planProgram(parseProgram(EXAMPLE_PROGRAM, 'example'), motionLimits(machine));
const REGION_BYTES = 4608;

/** Fills a stretch of memory with bytes of no meaning. */
function scatter(bytes: Uint8Array, seed: number): void {
  const random = new Random(seed);
  for (let at = 0; at < bytes.length; at++) bytes[at] = random.next_u32() & 255;
}

/** Everything behind the control module's region. */
const behind = (controller: WasmController): Uint8Array =>
  new Uint8Array(controller.linked.memory.buffer).subarray(REGION_BYTES);

/** First tick in which the surroundings made a difference, or were written to; undefined: none. */
function touchesOutside(module: ControlModule, ticks: number): number | undefined {
  const alone = new WasmController(module);
  const amid = new WasmController(module);
  for (const controller of [alone, amid]) setParameters(controller, box);
  amid.grow(2);
  scatter(behind(amid), 5);
  const before = behind(amid).slice();
  const inputs = new ArbitraryInputs(new Random(11));
  for (let tick = 0; tick < ticks; tick++) {
    inputs.draw(alone);
    amid.inputs = alone.inputs;
    amid.tick();
    try {
      alone.tick();
    } catch {
      // Behind the page there is nothing: the engine has trapped.
      return tick;
    }
    const same = Buffer.compare(alone.state(), amid.state()) === 0;
    const put_out = alone.output.integers.every((word, at) => word === amid.output.integers[at]);
    if (!same || !put_out) return tick;
    if (tick % 500 === 0 && Buffer.compare(before, behind(amid)) !== 0) return tick;
  }
  return Buffer.compare(before, behind(amid)) === 0 ? undefined : ticks;
}

/** A defect in a tick of the control module. */
const inTick = (statement: string) => ({
  name: 'outside',
  file: 'module.ts',
  search: 'export function tick(): void {',
  replacement: `export function tick(): void {\n  ${statement}`,
  plants: statement,
});

describe('the control module, whatever stands behind its 4608 bytes,', () => {
  it('gives the same ticks and leaves it as it is', () => {
    expect(touchesOutside(loadControlModule(), 20_000)).toBeUndefined();
  });

  it.each([
    ['reads', 'S.timer += load<i32>(4608) & 1;'],
    ['reads far away', 'S.timer += load<u8>(120000);'],
    ['writes', 'store<u8>(5000, <u8>S.timer);'],
  ])('is caught when it %s there', async (_, statement) => {
    const module = controlModule(await buildModule(inTick(statement)));
    expect(touchesOutside(module, 2000)).toBeDefined();
  });
});

/** Outputs of the box, tick by tick, of a sound cut. */
function recordedOutputs(): { readonly z_steps: Int16Array; readonly lines: Uint8Array; readonly modes: Uint8Array } {
  const runner = new Runner({
    box,
    machine,
    world,
    plan,
    seed: 1,
    controller: new WasmController(loadControlModule()),
  });
  const z_steps: number[] = [];
  const lines: number[] = [];
  const modes: number[] = [];
  while (!runner.finished && z_steps.length < 12_000) {
    runner.runBlock();
    const { block } = runner;
    z_steps.push(...block.z_steps.subarray(0, block.count));
    lines.push(...block.digital_outputs.subarray(0, block.count));
    modes.push(...block.mode.subarray(0, block.count));
  }
  return { z_steps: Int16Array.from(z_steps), lines: Uint8Array.from(lines), modes: Uint8Array.from(modes) };
}
const OUTPUTS = recordedOutputs();

/**
 * Plays recorded outputs to a world. With `scattered`, all else in the controller's page is without meaning, other bytes in each tick.
 * @returns every cell and array of the world at the end
 */
function playedTo(module: WorldModule, scattered: boolean): Uint8Array {
  let tick = 0;
  const linked = standAlone(() => {
    const page = new Uint8Array(linked.memory.buffer, 0, 65536);
    const input = page.slice(linked.input_at, linked.input_at + 64);
    if (scattered && tick % 50 === 0) scatter(page, tick);
    page.set(input, linked.input_at);
    const output = new DataView(linked.memory.buffer, linked.output_at);
    output.setInt32(OUTPUT_Z_STEPS, OUTPUTS.z_steps[tick], true);
    output.setInt32(OUTPUT_DIGITAL, OUTPUTS.lines[tick], true);
    output.setInt32(OUTPUT_MODE, OUTPUTS.modes[tick], true);
    tick++;
  });
  const instance = new WorldInstance(linked, module);
  const { loop } = instance.cells;
  new MotionPlayer(plan, { steps_per_mm: machine.table.x_steps_per_mm }, instance);
  new World(machine, world, 1, instance);
  loop.limit_ticks = OUTPUTS.z_steps.length;
  loop.operator_inputs = 4;
  loop.request_through = 1;
  while (loop.finished === 0) instance.module.run(0, 1000);
  return new Uint8Array(linked.memory.buffer).slice(65536, CELL_PLACES.end);
}

describe('the world, whatever stands in the memory of the controller,', () => {
  const sound = loadWorldModule();

  it('goes by the three outputs that it is given, and gives the same cut', () => {
    expect(Buffer.compare(playedTo(sound, false), playedTo(sound, true))).toBe(0);
  });

  it('is caught when it reads more of it', async () => {
    const file = 'sim/world/module/plant.ts';
    const text = readFileSync(file, 'utf8').replace(
      'burning | call | moving',
      'burning | call | moving | load<u8>(300)',
    );
    const bytes = await compiled(
      'a world that reads',
      ['sim/run/loop/module/loop.ts', '--target', 'world'],
      new Map([[file, text]]),
    );
    const planted = { compiled: new WebAssembly.Module(bytes), sha256: '' };
    expect(Buffer.compare(playedTo(planted, false), playedTo(planted, true))).not.toBe(0);
  });
});

import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { INPUT_KEY, INPUT_STOP_CHAIN } from '../../firmware/wire/layout.gen.js';
import { packageFile } from '../../sim/base/package/files.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { setParameters } from '../../sim/run/loop/index.js';
import { WorldInstance } from '../../sim/world/cells/index.js';
import { MotionPlayer, type Plan } from '../../sim/world/motion/index.js';
import { World } from '../../sim/world/plant/index.js';
import { EVERYTHING } from './conditions.js';
import { figure, heading } from './table.js';

const { box, machine, world } = EVERYTHING.setup;
const ROUNDS = 9;
const RUNS = 3;
const KEY_AT_MS = 200;

interface Timed {
  readonly ticks: number;
  readonly tick_ns: number;
  readonly sum: number;
}

/** The example just after the key, ready to run to its end without another event. */
function ready(module: ControlModule, plan: Plan) {
  const controller = new WasmController(module);
  setParameters(controller, box);
  const { memory, tick, input, output } = controller.linked;
  const grow = (pages: number) => controller.grow(pages);
  const instance = new WorldInstance({ memory, tick, grow, input_at: input(), output_at: output() });
  new MotionPlayer(plan, { steps_per_mm: machine.table.x_steps_per_mm }, instance);
  new World(machine, world, 1, instance);
  const { loop } = instance.cells;
  Object.assign(loop, { limit_ticks: 1e7, request_through: 1, operator_inputs: INPUT_STOP_CHAIN });
  instance.module.run(0, KEY_AT_MS);
  loop.operator_inputs = INPUT_STOP_CHAIN | INPUT_KEY;
  return instance;
}

/** Runs of the loop in this engine, from the snapshot on. */
function here(instance: WorldInstance, snapshot: Uint8Array, runs: number): Timed[] {
  const bytes = new Uint8Array(instance.buffer);
  return Array.from({ length: runs }, () => {
    bytes.set(snapshot);
    let ticks = 0;
    let done: number;
    const start = process.cpuUsage();
    do {
      done = instance.module.run(0, 1000);
      ticks += done;
    } while (done === 1000);
    const { user, system } = process.cpuUsage(start);
    let sum = 7;
    for (const byte of bytes) sum = (Math.imul(31, sum) + byte) >>> 0;
    return { ticks, tick_ns: ((user + system) * 1e3) / ticks, sum };
  });
}

/** Both modules as C, compiled. @returns the program; undefined when wasm2c (Debian package wabt) or gcc is missing */
function compiledIn(folder: string): string | undefined {
  const at = (name: string) => join(folder, name);
  const modules = [
    ['control', 'dist/firmware/control.wasm'],
    ['world', 'dist/sim/world.wasm'],
  ] as const;
  const translated = modules.every(
    ([name, file]) => spawnSync('/usr/bin/wasm2c', [packageFile(file), '-n', name, '-o', at(`${name}.c`)]).status === 0,
  );
  // Debian's, because each wasm2c goes with a runtime of its own; the package wabt of node_modules has none.
  const runtime = '/usr/share/wabt/wasm2c';
  const sources = [packageFile('test/bench/native.c'), at('control.c'), at('world.c'), join(runtime, 'wasm-rt-impl.c')];
  const program = at('native');
  // -march=native or -O3 changes results: no yardstick.
  const options = ['-std=gnu11', '-O2', '-ffp-contract=off', '-I', folder, '-I', runtime, '-o', program];
  return translated && spawnSync('gcc', [...options, ...sources, '-lm']).status === 0 ? program : undefined;
}

const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

/** The closed loop, recorded, against the same two modules compiled to the processor: alternating, in processor time. */
export function yardstick(module: ControlModule, plan: Plan): void {
  heading('The whole loop against C of the same two modules');
  const folder = mkdtempSync(join(tmpdir(), 'standoff-native-'));
  try {
    const program = compiledIn(folder);
    if (program === undefined) {
      console.log('wasm2c or gcc is missing: no comparison (Debian packages wabt, gcc)');
      return;
    }
    const instance = ready(module, plan);
    const snapshot = new Uint8Array(instance.buffer).slice();
    const file = join(folder, 'snapshot');
    writeFileSync(file, snapshot);
    const there = (): Timed[] =>
      execFileSync(program, [file, String(RUNS)], { encoding: 'utf8' })
        .trim()
        .split('\n')
        .map((line) => {
          const [ticks, tick_ns, sum] = line.split(' ').map(Number);
          return { ticks, tick_ns, sum };
        });
    here(instance, snapshot, 5);
    const rounds = Array.from({ length: ROUNDS }, () => [here(instance, snapshot, RUNS), there()] as const);
    const same = new Set(rounds.flat(2).map(({ ticks, sum }) => `${ticks} ${sum}`)).size === 1;
    const ns = rounds.map((sides) => sides.map((runs) => median(runs.map(({ tick_ns }) => tick_ns))));
    const [ours, native] = [0, 1].map((side) => median(ns.map((pair) => pair[side])));
    const ratios = ns.map(([a, b]) => a / b);
    console.log(`here ${figure(ours, 0)} ns a tick, C ${figure(native, 0)} ns; ratio ${figure(median(ratios), 2)}`);
    console.log(`ratios of ${ROUNDS} rounds: ${figure(Math.min(...ratios), 2)} to ${figure(Math.max(...ratios), 2)}`);
    console.log(same ? 'the memory at the end is the same, byte for byte' : 'THE MEMORY AT THE END DIFFERS');
    console.log('wanted: 1.35 at most');
  } finally {
    rmSync(folder, { recursive: true });
  }
}

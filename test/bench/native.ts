import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { packageFile } from '../../sim/base/package/files.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { PLAIN_OPERATOR, Runner } from '../../sim/run/loop/index.js';
import type { Plan } from '../../sim/world/motion/index.js';
import { EVERYTHING } from './conditions.js';
import { figure, heading } from './table.js';

const { box, machine, world } = EVERYTHING.setup;
const ROUNDS = 9;
const RUNS = 3;

interface Timed {
  readonly ticks: number;
  readonly tick_ns: number;
  readonly sum: number;
}

/** The example just after the key, ready to run to its end without another event. */
function ready(module: ControlModule, plan: Plan): Runner {
  const runner = new Runner({ box, machine, world, plan, seed: 1, controller: new WasmController(module) });
  const key = PLAIN_OPERATOR.at(-1)!;
  runner.runBlock(1000 * key.at_s + 1);
  return runner;
}

/** Runs of the loop in this engine, from the snapshot on; `memory` is that of the runner. */
function here(runner: Runner, memory: Uint8Array, snapshot: Uint8Array, runs: number): Timed[] {
  return Array.from({ length: runs }, () => {
    memory.set(snapshot);
    const first = runner.tick;
    const start = process.cpuUsage();
    while (!runner.finished) runner.runBlock();
    const { user, system } = process.cpuUsage(start);
    const ticks = runner.tick - first;
    let sum = 7;
    for (const byte of memory) sum = (Math.imul(31, sum) + byte) >>> 0;
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
    const runner = ready(module, plan);
    const memory = new Uint8Array(runner.block.standoff_mm.buffer as ArrayBuffer);
    const snapshot = memory.slice();
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
    here(runner, memory, snapshot, 5);
    const rounds = Array.from({ length: ROUNDS }, () => [here(runner, memory, snapshot, RUNS), there()] as const);
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

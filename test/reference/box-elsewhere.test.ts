/**
 * The control module through wasm2c, by the desk's compilers and on QEMU's Cortex-M4 without a unit for floating point,
 * against the same wasm in V8: the same bytes. And the box's own single precision against libgcc's and V8's.
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import binaryen from 'assemblyscript/binaryen';
import { beforeAll, describe, expect, it } from 'vitest';
import { moduleCode } from '../../firmware/image/module-code.mjs';
import { MODE_FAULT, MODE_REST } from '../../firmware/wire/codes.gen.js';
import { buildNative, CONTROL_WASM } from '../firmware/box-native.js';
import { GCC } from '../firmware/loader-native.js';
import { ARM_GCC } from '../firmware/port-board.js';
import { amount } from '../support/volume.js';
import { type ModuleTicks, recordModuleTicks, replayAnswer, replayFile, TICKS } from './module-ticks.js';
import { describeAgainst, type ReferenceProgram } from './support.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const NATIVE = join(ROOT, 'test/firmware/native');
const RUNTIME = join(ROOT, 'firmware/box/runtime');
const CLANG: ReferenceProgram = { name: 'clang', debian: 'clang', command: 'clang', probe: ['--version'] };
const QEMU: ReferenceProgram = {
  name: 'qemu-system-arm',
  debian: 'qemu-system-arm',
  command: 'qemu-system-arm',
  probe: ['--version'],
};
const NUMBERS = 2_000_000;
const NOT_NUMBER = 0x7fc00000;

const lines = (text: string): string[] => text.trim().split(/\s+/);
const hex = (word: number): string => (word >>> 0).toString(16).padStart(8, '0');

let given: ModuleTicks;
let file: string;
beforeAll(() => {
  given = recordModuleTicks();
  file = join(mkdtempSync(join(tmpdir(), 'standoff-ticks-')), 'ticks');
  writeFileSync(file, replayFile(given.recordings));
}, 60_000);

/** Square roots and roundings of roots.c's numbers by V8: f32.sqrt and f32.nearest of WebAssembly, Math.sqrt beside. */
function rootsHere(): string[] {
  const module = binaryen.parseText(
    '(module (func (export "nearest") (param f32) (result f32) (f32.nearest (local.get 0))))',
  );
  const bytes = Uint8Array.from(module.emitBinary());
  module.dispose();
  const nearest = new WebAssembly.Instance(new WebAssembly.Module(bytes), {}).exports.nearest as (x: number) => number;
  const float = new Float32Array(1);
  const bits = new Uint32Array(float.buffer);
  let state = 1;
  const hashes = [0x811c9dc5 | 0, 0x811c9dc5 | 0];
  for (let i = 0; i < NUMBERS; i++) {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    bits[0] = (i & 1) === 0 ? state : (state & 0x807fffff) | ((123 + ((state >>> 23) % 32)) << 23);
    const value = float[0];
    for (const [k, result] of [Math.fround(Math.sqrt(value)), nearest(value)].entries()) {
      float[0] = result;
      hashes[k] = Math.imul(hashes[k] ^ (Number.isNaN(result) ? NOT_NUMBER : bits[0]), 0x01000193);
    }
  }
  return hashes.map(hex);
}

describe('the ticks that are compared', () => {
  it(`are ${TICKS} at least, in every mode, with faults of several kinds`, () => {
    expect(given.ticks).toBeGreaterThanOrEqual(TICKS);
    for (let mode = MODE_REST; mode <= MODE_FAULT; mode++) expect(given.modes, `mode ${mode}`).toContain(mode);
    expect([...given.faults].sort(), 'faults').toSatisfy((faults: number[]) => faults.length > amount(5, 2, 2));
  });
});

describe.each(amount([GCC, CLANG], [GCC]))('on this processor, by $name, under sanitizers', (compiler) => {
  describeAgainst(compiler, 'the module as C', (command) => {
    it('gives the same outputs and state as V8, bit for bit', () => {
      const program = buildNative(command, 'replay');
      const ran = spawnSync(program, [file], { encoding: 'utf8', maxBuffer: 1 << 26 });
      expect(ran.stderr).toBe('');
      expect(lines(ran.stdout)).toEqual(replayAnswer(given.recordings));
    });

    it('has a square root and a rounding that give V8’s bits', () => {
      expect(lines(execFileSync(buildNative(command, 'roots'), { encoding: 'utf8' }))).toEqual(rootsHere());
    });
  });
});

describeAgainst(ARM_GCC, 'built for a Cortex-M4 without its floating-point unit', (gcc) => {
  describeAgainst(QEMU, 'on QEMU', (qemu) => {
    /** Runs a program of test/firmware/native with the module and the box's runtime. @returns what it printed */
    const onQemu = (name: string): string => {
      const folder = mkdtempSync(join(tmpdir(), 'standoff-qemu-'));
      moduleCode(CONTROL_WASM, folder);
      const runtime = readdirSync(RUNTIME).filter((source) => /\.[cS]$/.test(source));
      const elf = join(folder, `${name}.elf`);
      const wraps = ['fadd', 'fsub', 'fmul', 'fdiv', 'fcmplt', 'fcmple', 'fcmpgt', 'fcmpge', 'fcmpeq', 'i2f'];
      execFileSync(gcc, [
        ...['-mcpu=cortex-m4', '-mthumb', '-mfloat-abi=soft', '-std=gnu11', '-O2', '-ffp-contract=off'],
        ...['-ffreestanding', '-fno-builtin', '-fno-tree-loop-distribute-patterns', '-nostdlib', `-DIO_FILE="${file}"`],
        ...['-Wl,--build-id=none', '-Wl,-z,noexecstack', '-Wl,--no-warn-rwx-segments'],
        ...wraps.map((wrapped) => `-Wl,--wrap=__aeabi_${wrapped}`),
        ...['firmware/wire', 'firmware/box', 'firmware/ports/host'].map((room) => `-I${join(ROOT, room)}`),
        ...[`-I${RUNTIME}`, `-I${NATIVE}`, `-I${folder}`, '-T', join(NATIVE, 'mps2.ld')],
        ...runtime.map((source) => join(RUNTIME, source)),
        ...(name === 'replay' ? [join(ROOT, 'firmware/box/module.c'), join(folder, 'control.c')] : []),
        ...[join(NATIVE, `${name}.c`), join(NATIVE, 'io-semihosting.c')],
        ...[join(ROOT, 'firmware/ports/rp2040/memory.c'), '-lgcc', '-o', elf],
      ]);
      const machine = ['-M', 'mps2-an386', '-nographic', '-monitor', 'none', '-serial', 'none'];
      const ran = spawnSync(qemu, [...machine, '-semihosting', '-kernel', elf], {
        encoding: 'utf8',
        maxBuffer: 1 << 26,
      });
      // QEMU writes what the program prints to its own stderr.
      return ran.stderr + ran.stdout;
    };

    it('the module gives the same outputs and state as V8, bit for bit', () => {
      expect(lines(onQemu('replay'))).toEqual(replayAnswer(given.recordings));
    }, 300_000);

    it('square root and rounding give V8’s bits', () => {
      expect(lines(onQemu('roots'))).toEqual(rootsHere());
    }, 300_000);

    it('sum, difference, product, quotient, comparisons and whole numbers give libgcc’s bits', () => {
      expect(lines(onQemu('single'))).toEqual(['differences', '00000000']);
    }, 300_000);
  });
});

import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { PARAMETER_COUNT } from '../../firmware/wire/codes.gen.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { readWasm } from './wasm-file.js';

const { bytes, compiled } = loadControlModule();
const file = readWasm(bytes);
const module_source = readFileSync(new URL('../../firmware/control/module.ts', import.meta.url), 'utf8');
const config = JSON.parse(readFileSync(new URL('../../asconfig.json', import.meta.url), 'utf8')) as {
  options: { lowMemoryLimit: number; maximumMemory: number };
};

describe('the built module', () => {
  it('imports nothing and starts nothing by itself', () => {
    expect(file.imports).toBe(0);
    expect(file.has_start).toBe(false);
  });

  it('has no global that changes: all of its state lies in the region that a host can copy', () => {
    expect(file.mutable_globals).toBe(0);
  });

  it('has one memory of one page, which a host may make larger, to the bound of the build', () => {
    expect(file.memories).toEqual([{ initial: 1, maximum: config.options.maximumMemory }]);
  });

  it('keeps tables, blocks, state and parameters below the limit that the build sets, and apart', () => {
    const { input, parameters } = new WebAssembly.Instance(compiled, {}).exports as Record<string, () => number>;
    // Minima, maxima and defaults come first.
    expect(file.data_end).toBeGreaterThanOrEqual(3 * 4 * PARAMETER_COUNT);
    expect(input()).toBeGreaterThanOrEqual(file.data_end);
    expect(parameters()).toBeGreaterThan(input());
    expect(parameters() + 4 * PARAMETER_COUNT).toBeLessThanOrEqual(config.options.lowMemoryLimit);
  });

  it('exports its memory and the functions that module.ts documents, and nothing else', () => {
    const documented = [...module_source.matchAll(/^export function (\w+)/gm)].map(([, name]) => name);
    expect(documented).toEqual([
      'layout',
      'input',
      'output',
      'parameters',
      'state',
      'state_bytes',
      'power_up',
      'restart',
      'load_defaults',
      'set_parameter',
      'contradiction',
      'trim_in_force',
      'tick',
    ]);
    expect(file.exports.filter((each) => each.kind === 'function').map((each) => each.name)).toEqual(documented);
    expect(file.exports.filter((each) => each.kind !== 'function')).toEqual([{ name: 'memory', kind: 'memory' }]);
  });
});

describe('the reader of the gates sees', () => {
  const head = [0, 0x61, 0x73, 0x6d, 1, 0, 0, 0];
  const wasm = (...sections: number[][]) => readWasm(Uint8Array.from([...head, ...sections.flat()]));

  it('an import, a mutable global, a memory that can grow, data and an odd export', () => {
    expect(wasm([2, 6, 1, 1, 0x61, 1, 0x62, 0]).imports).toBe(1);
    expect(wasm([6, 11, 2, 0x7f, 1, 0x41, 0, 0x0b, 0x7f, 0, 0x41, 5, 0x0b]).mutable_globals).toBe(1);
    expect(wasm([6, 9, 1, 0x7d, 1, 0x43, 0, 0, 0, 0, 0x0b]).mutable_globals).toBe(1);
    expect(wasm([5, 3, 1, 0, 2]).memories).toEqual([{ initial: 2, maximum: undefined }]);
    expect(wasm([5, 4, 1, 1, 1, 1]).memories).toEqual([{ initial: 1, maximum: 1 }]);
    expect(wasm([11, 9, 1, 0, 0x41, 0xd0, 0x0f, 0x0b, 2, 9, 9]).data_end).toBe(2000 + 2);
    expect(wasm([7, 5, 1, 1, 0x78, 3, 0]).exports).toEqual([{ name: 'x', kind: 'other' }]);
    expect(wasm([8, 1, 0]).has_start).toBe(true);
  });

  it('a file that is no module', () => {
    expect(() => readWasm(Uint8Array.from([1, 2, 3, 4]))).toThrow('no wasm');
  });
});

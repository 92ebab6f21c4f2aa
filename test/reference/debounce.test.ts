/** Integrating debounce by K. Kuhn (published code, maximum 3): the vector is the one of check-values (seen). */
import asc from 'assemblyscript/asc';
import { beforeAll, expect, it } from 'vitest';

const INPUT = '0100111011011001000011011010001001011100101111000100010111011100010';
const INTEGRATOR = '0100123233233212100012123232101001012321212333210100010123233321010';
const OUTPUT = '0000001111111111100000001111100000000111111111110000000001111111000';
const MAXIMUM = 3;

interface Debounce {
  integrate(count: number, input: number, up: number, down: number, maximum: number): number;
  decide(output: number, count: number, maximum: number): number;
}

let debounce: Debounce;

beforeAll(async () => {
  // The module's own source file, built alone.
  let binary: Uint8Array | undefined;
  const { error } = await asc.main(['firmware/control/inputs.ts', '--outFile', 'debounce.wasm', '--runtime', 'stub'], {
    writeFile: (name: string, contents: string | Uint8Array) => {
      if (name === 'debounce.wasm') binary = contents as Uint8Array;
    },
  });
  if (error !== null || binary === undefined) throw error ?? new Error('no module was written');
  const instance = new WebAssembly.Instance(new WebAssembly.Module(Uint8Array.from(binary)), {});
  debounce = instance.exports as unknown as Debounce;
});

it('of the control module reproduces the published input, integrator and output, one by one', () => {
  let count = 0;
  let output = 0;
  let counts = '';
  let outputs = '';
  for (const bit of INPUT) {
    count = debounce.integrate(count, Number(bit), 1, 1, MAXIMUM);
    output = debounce.decide(output, count, MAXIMUM);
    counts += count;
    outputs += output;
  }
  expect(counts).toBe(INTEGRATOR);
  expect(outputs).toBe(OUTPUT);
});

it('stays between nothing and its maximum with unequal steps up and down', () => {
  let count = 0;
  for (const input of [1, 1, 1, 1, 1, 0, 1, 1]) count = debounce.integrate(count, input, 4, 3, 12);
  expect(count).toBe(12);
  for (const input of [0, 0, 0, 0, 0, 0]) count = debounce.integrate(count, input, 4, 3, 12);
  expect(count).toBe(0);
});

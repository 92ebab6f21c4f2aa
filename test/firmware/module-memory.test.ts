/** What the box's runtime takes for granted of the control module. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import binaryen from 'assemblyscript/binaryen';
import { expect, it } from 'vitest';
import { loadControlModule } from '../../sim/run/controller/index.js';

const at = (path: string): string => fileURLToPath(new URL(`../../${path}`, import.meta.url));
const runtime = readFileSync(at('firmware/box/runtime/wasm-rt.h'), 'utf8');
const memory_bytes = Number(/MODULE_MEMORY_BYTES (\d+)u/.exec(runtime)![1]);

function moduleText(): string {
  const module = binaryen.readBinary(Uint8Array.from(loadControlModule().bytes));
  const text = module.emitText();
  module.dispose();
  return text;
}

it('its memory in the box is as large as its static data may be', () => {
  const config = JSON.parse(readFileSync(at('asconfig.json'), 'utf8')) as { options: { lowMemoryLimit: number } };
  expect(memory_bytes).toBe(config.options.lowMemoryLimit);
  const ends = [...moduleText().matchAll(/\(data \S+ \(i32.const (\d+)\) "((?:\\.|[^"\\])*)"\)/g)].map(
    ([, start, text]) => Number(start) + text.replace(/\\[0-9a-f]{2}|\\./g, '.').length,
  );
  expect(ends.length).toBeGreaterThan(0);
  expect(Math.max(...ends)).toBeLessThanOrEqual(memory_bytes);
});

it('no access of it is below its natural alignment, which the processor could not do', () => {
  const text = moduleText();
  // Binaryen writes the alignment only where it is not the natural one.
  expect(text).toMatch(/f32\.load/);
  expect(text).not.toMatch(/align=/);
  const unaligned = binaryen.parseText('(module (memory 1) (func (drop (i32.load align=1 (i32.const 1)))))');
  expect(unaligned.emitText()).toMatch(/align=1/);
  unaligned.dispose();
});

it('it never asks for more memory: on the board there is none', () => {
  expect(moduleText()).toContain('(memory ');
  expect(moduleText()).not.toContain('memory.grow');
  const growing = binaryen.parseText('(module (memory 1 2) (func (drop (memory.grow (i32.const 1)))))');
  expect(growing.emitText()).toContain('memory.grow');
  growing.dispose();
});

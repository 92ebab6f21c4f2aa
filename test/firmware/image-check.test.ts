import { appendFileSync, cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { imageProblems } from '../../firmware/image/check.mjs';

const at = (path: string) => fileURLToPath(new URL(`../../${path}`, import.meta.url));
const WASM = at('dist/firmware/control.wasm');
let folder = '';

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'standoff-'));
  cpSync(at('firmware/image'), folder, { recursive: true });
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('the check of the image without a compiler', () => {
  it('finds nothing in what is shipped', () => {
    expect(imageProblems(folder, WASM, '0.1.0')).toEqual([]);
  });

  it('names the module when the source gives another one', () => {
    cpSync(WASM, join(folder, 'control.wasm'));
    appendFileSync(join(folder, 'control.wasm'), '\0');
    expect(imageProblems(folder, join(folder, 'control.wasm'), '0.1.0')).toEqual([
      expect.stringMatching(/^the image holds the module [0-9a-f]{64}, the source gives .*npm run image$/),
    ]);
  });

  it('names a module that was not built', () => {
    expect(imageProblems(folder, join(folder, 'none.wasm'), '0.1.0')[0]).toContain('npm run build:module');
  });

  it.each(['loader.bin', 'standoff.image', 'standoff.uf2'])('names %s when it was changed or is missing', (name) => {
    appendFileSync(join(folder, name), '\0');
    expect(imageProblems(folder, WASM, '0.1.0')).toEqual([expect.stringContaining(`${name} has the hash`)]);
    rmSync(join(folder, name));
    expect(imageProblems(folder, WASM, '0.1.0')).toEqual([expect.stringContaining(`${name} is missing`)]);
  });

  it('names the version when the package has another one', () => {
    expect(imageProblems(folder, WASM, '0.2.0')).toEqual([expect.stringContaining('version 0.1.0')]);
  });
});

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import binaryen from 'assemblyscript/binaryen';
import { afterAll, describe, expect, it } from 'vitest';
import { LAYOUT } from '../../../firmware/wire/layout.gen.js';
import { StandoffError } from '../../../sim/base/index.js';
import { loadControlModule } from '../../../sim/run/controller/index.js';

const folder = mkdtempSync(join(tmpdir(), 'standoff-module-'));
afterAll(() => rmSync(folder, { recursive: true }));

const { bytes } = loadControlModule();

function refused(file: string): StandoffError {
  try {
    loadControlModule(file);
  } catch (error) {
    if (error instanceof StandoffError) return error;
    throw error;
  }
  throw new Error(`${file} was taken`);
}

function written(name: string, content: Uint8Array): string {
  writeFileSync(join(folder, name), content);
  return join(folder, name);
}

/** A module of a text. */
const assembled = (text: string): Uint8Array => binaryen.parseText(text).emitBinary();

/** The control module as another build would have it: its layout has another number. */
function ofAnotherBuild(): Uint8Array {
  const module = binaryen.readBinary(Uint8Array.from(bytes));
  const text = module.emitText();
  expect(text.split(`(i32.const ${LAYOUT})`)).toHaveLength(2);
  return assembled(text.replace(`(i32.const ${LAYOUT})`, `(i32.const ${LAYOUT ^ 1})`));
}

describe('a file that is to be the control module', () => {
  it('is taken where it is the one that was built', () => {
    expect(loadControlModule(written('same.wasm', bytes)).sha256).toBe(loadControlModule().sha256);
  });

  it.each<[string, string, () => string]>([
    ['is missing', 'module-missing', () => join(folder, 'none.wasm')],
    ['is a folder', 'module-missing', () => folder],
    ['is empty', 'module-format', () => written('empty.wasm', new Uint8Array())],
    ['lacks its last byte', 'module-format', () => written('short.wasm', bytes.slice(0, -1))],
    ['lacks its second half', 'module-format', () => written('half.wasm', bytes.slice(0, bytes.length / 2))],
    ['is text', 'module-format', () => written('text.wasm', Buffer.from('(module)'))],
    ['is of another build', 'module-build', () => written('other.wasm', ofAnotherBuild())],
    ['does not say of which build it is', 'module-build', () => written('old.wasm', assembled('(module)'))],
    [
      'wants imports',
      'module-build',
      () => written('imports.wasm', assembled('(module (import "env" "abort" (func)))')),
    ],
  ])('is refused with what to do when it %s', (_name, code, make) => {
    const file = make();
    const error = refused(file);
    expect(error.code).toBe(code);
    expect(error.what).toContain(file);
    expect(error.remedy).toContain('npm run build');
  });
});

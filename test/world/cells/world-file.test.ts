/** A world module that is missing, cut off or another one: one sentence with what to do. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import binaryen from 'assemblyscript/binaryen';
import { afterAll, describe, expect, it } from 'vitest';
import { packageFile } from '../../../sim/base/package/files.js';
import { standAlone, WorldInstance, worldModuleIn } from '../../../sim/world/cells/index.js';
import { thrownBy } from '../../support/thrown.js';

const folder = mkdtempSync(join(tmpdir(), 'standoff-world-'));
afterAll(() => rmSync(folder, { recursive: true }));
const built = readFileSync(packageFile('dist/sim/world.wasm'));

function file(name: string, bytes: Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}
const begun = (path: string) => thrownBy(() => new WorldInstance(standAlone(), worldModuleIn(path)));

/** As another build would have it: its layout has another number. */
function otherBuild(): Uint8Array {
  const layout = new WorldInstance().module.layout();
  const text = binaryen.readBinary(Uint8Array.from(built)).emitText();
  expect(text.split(`(i32.const ${layout})`)).toHaveLength(2);
  return binaryen.parseText(text.replace(`(i32.const ${layout})`, `(i32.const ${layout ^ 1})`)).emitBinary();
}

describe('a world module', () => {
  it('as built is taken', () => {
    expect(new WorldInstance(standAlone(), worldModuleIn(file('whole.wasm', built))).cells.loop.tick).toBe(0);
  });

  it.each([
    ['that is missing', () => join(folder, 'none.wasm'), 'module-missing'],
    ['that is cut off', () => file('half.wasm', built.subarray(0, 5000)), 'module-format'],
    ['that is empty', () => file('empty.wasm', built.subarray(0, 0)), 'module-format'],
    ['of another build', () => file('other.wasm', otherBuild()), 'module-build'],
    ['that is the control module', () => packageFile('dist/firmware/control.wasm'), 'module-build'],
    ['that is the exploring loop', () => packageFile('dist/sim/explore.wasm'), 'module-build'],
  ])('%s is refused, with what to do', (_, path, code) => {
    expect(begun(path())).toMatchObject({ code, message: expect.stringMatching(/npm run build/) });
  });
});

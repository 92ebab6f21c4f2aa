/** The control module as C. */
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = resolve(fileURLToPath(new URL('../..', import.meta.url)));
const WASM2C = join(ROOT, 'node_modules/wabt/bin/wasm2c');
/** The bounds check as wasm2c writes it, and with a size that the compiler knows (runtime/wasm-rt.h). */
const CHECK = 'if (UNLIKELY(a + (uint64_t)sizeof(t) > mem->size))';
const CHECK_OF_KNOWN_SIZE = 'if (UNLIKELY(a > MODULE_MEMORY_BYTES - sizeof(t)))';

/**
 * Writes control.c and control.h into a folder.
 * @throws Error when wasm2c no longer writes its check as it is known here: then it must not be replaced blindly
 */
export function moduleCode(wasm, folder) {
  const file = join(folder, 'control.c');
  execFileSync(process.execPath, [WASM2C, wasm, '-o', file, '--module-name', 'control']);
  const parts = readFileSync(file, 'utf8').split(CHECK);
  if (parts.length !== 2) throw new Error('wasm2c writes its bounds check in another way than it did');
  writeFileSync(file, parts.join(CHECK_OF_KNOWN_SIZE));
}

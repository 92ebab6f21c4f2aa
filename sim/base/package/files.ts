// Apart from the rest of sim/base, which knows no file: where this package lies.
import { existsSync, readFileSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { StandoffError } from '../error.js';

/**
 * Full name of a file of this package, such as `dist/firmware/control.wasm`, wherever this code runs from: the sources, a
 * bundle under dist, an installed copy. Whether it is there is not looked at.
 */
export const packageFile = (path: string): string => join(folderOfPackage(), path);

/** What to do about a module that cannot be used. */
export const REBUILD = 'install Standoff again, or build it: npm run build';

export interface ModuleFile {
  readonly bytes: Uint8Array<ArrayBuffer>;
  /** As the engine has it; no user of the package needs types for it. */
  readonly compiled: object;
}

/**
 * A WebAssembly module that is there and whole. Whether it is the one that is wanted, its exports must tell.
 * @param what the module in a sentence, such as `control module`
 * @throws StandoffError `module-missing`, `module-format`
 */
export function readModule(file: string, what: string): ModuleFile {
  if (!statSync(file, { throwIfNoEntry: false })?.isFile()) {
    throw new StandoffError('module-missing', `there is no ${what} at ${file}`, REBUILD);
  }
  const bytes = readFileSync(file);
  try {
    return { bytes, compiled: new WebAssembly.Module(bytes) };
  } catch {
    throw new StandoffError(
      'module-format',
      `${file} is no ${what}: ${bytes.length} bytes, damaged or cut off`,
      REBUILD,
    );
  }
}

let folder: string | undefined;

/** The nearest one above this code with a package.json. @throws Error when there is none: this code was taken out of its package */
function folderOfPackage(): string {
  if (folder !== undefined) return folder;
  const here = dirname(fileURLToPath(import.meta.url));
  let above = here;
  while (!existsSync(join(above, 'package.json'))) {
    if (above === dirname(above)) throw new Error(`no package.json above ${here}: run Standoff from its own package`);
    above = dirname(above);
  }
  folder = above;
  return above;
}

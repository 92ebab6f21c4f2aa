// Apart from the rest of sim/base, which knows no file: where this package lies.
import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/**
 * Full name of a file of this package, such as `dist/firmware/control.wasm`, wherever this code runs from: the sources, a
 * bundle under dist, an installed copy. Whether it is there is not looked at.
 */
export const packageFile = (path: string): string => join(folderOfPackage(), path);

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

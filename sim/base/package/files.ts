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

/** The nearest one above this code with a package.json. */
function folderOfPackage(): string {
  if (folder !== undefined) return folder;
  let above = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(above, 'package.json'))) above = dirname(above);
  folder = above;
  return above;
}

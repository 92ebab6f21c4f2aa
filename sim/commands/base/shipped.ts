import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { StandoffError } from '../../base/index.js';

// Beside the compiled host, or beside the sources.
const PLACES = ['../../../../firmware/image/', '../../../firmware/image/'];

/**
 * A file of firmware/image, as it came with this Standoff.
 * @throws StandoffError image-missing
 */
export function shippedFile(name: 'standoff.image' | 'loader.bin'): string {
  const found = PLACES.map((place) => fileURLToPath(new URL(place + name, import.meta.url))).find((path) =>
    existsSync(path),
  );
  if (found !== undefined) return found;
  throw new StandoffError(
    'image-missing',
    `firmware/image/${name} did not come with this Standoff`,
    'install it again, or build it: node firmware/board/build.mjs',
  );
}

/** The bytes of a file. @throws StandoffError file-missing, file-refused */
export function readBytes(path: string, what: string): Uint8Array {
  try {
    return readFileSync(path);
  } catch (error) {
    const { code = 'unknown error' } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT') {
      throw new StandoffError('file-missing', `the ${what} ${path} does not exist`, 'check the name and the folder');
    }
    throw new StandoffError('file-refused', `the ${what} ${path} cannot be read (${code})`, 'check the file');
  }
}

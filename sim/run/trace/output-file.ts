import { closeSync, openSync, writeSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { StandoffError } from '../../base/index.js';

/** Where bytes go; written at once, so that nothing is left behind when the process is interrupted. */
export interface ByteOutput {
  write(bytes: Uint8Array): void;
  close(): void;
}

/**
 * Opens a file for writing. A name that ends in `.gz` is compressed: every piece becomes a gzip member of its own,
 * which RFC 1952 (2.2) allows, so that the file is whole after each piece.
 * @throws StandoffError `file-exists` unless `force`; `file-unwritable` when it cannot be opened or written
 */
export function openOutput(path: string, force: boolean): ByteOutput {
  let file: number;
  try {
    file = openSync(path, force ? 'w' : 'wx');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') {
      throw new StandoffError('file-exists', `${path} exists`, 'choose another name, or overwrite it with --force');
    }
    throw unwritable(path, error);
  }
  const compressed = path.endsWith('.gz');
  return {
    write(bytes) {
      const piece = compressed ? gzipSync(bytes) : bytes;
      try {
        for (let at = 0; at < piece.length; ) at += writeSync(file, piece, at);
      } catch (error) {
        throw unwritable(path, error);
      }
    },
    close() {
      closeSync(file);
    },
  };
}

function unwritable(path: string, error: unknown): StandoffError {
  const { code = 'unknown error' } = error as NodeJS.ErrnoException;
  return new StandoffError(
    'file-unwritable',
    `${path} cannot be written (${code})`,
    'look at the folder, the rights and the space on the disk',
  );
}

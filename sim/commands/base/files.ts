import { readFileSync, realpathSync } from 'node:fs';
import { StandoffError, type StandoffErrorCode } from '../../base/index.js';

/**
 * The text of an input file. Bytes that are no UTF-8 come out as U+FFFD, which every reader refuses with the
 * place.
 * @param what the file in a sentence, such as `program`
 * @throws StandoffError `file-missing`, `file-folder`, `file-refused` or `file-large`
 */
export function readText(path: string, what: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? '';
    const [name, reason, remedy] = REASONS[code] ?? ['file-refused', `cannot be read (${code})`, 'check the file'];
    throw new StandoffError(name, `the ${what} ${path} ${reason}`, remedy);
  }
}

const REASONS: Readonly<Record<string, readonly [code: StandoffErrorCode, reason: string, remedy: string]>> = {
  ENOENT: ['file-missing', 'does not exist', 'check the name and the folder'],
  ENOTDIR: ['file-missing', 'does not exist', 'check the name and the folder'],
  EISDIR: ['file-folder', 'is a folder', 'name a file in it'],
  EACCES: ['file-refused', 'may not be read', 'check its permissions'],
  ERR_STRING_TOO_LONG: ['file-large', 'is larger than a text can be', 'split it'],
  ERR_FS_FILE_TOO_LARGE: ['file-large', 'is larger than a text can be', 'split it'],
};

/** True when both names lead to one existing file. */
export function sameFile(one: string, other: string): boolean {
  try {
    return realpathSync(one) === realpathSync(other);
  } catch {
    return false;
  }
}

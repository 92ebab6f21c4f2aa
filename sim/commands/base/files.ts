import {
  accessSync,
  constants,
  existsSync,
  mkdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { dirname } from 'node:path';
import { StandoffError, type StandoffErrorCode } from '../../base/index.js';
import { packageFile } from '../../base/package/files.js';
import { openOutput } from '../../run/trace/index.js';

/**
 * The text of an input file. Bytes that are no UTF-8 come out as U+FFFD, which every reader refuses with the
 * place.
 * @param what the file in a sentence, such as `program`
 * @throws StandoffError `file-missing`, `file-folder`, `file-refused` or `file-large`
 */
export const readText = (path: string, what: string): string =>
  reading(path, what, () => {
    refuseDevice(path, what);
    return readFileSync(path, 'utf8');
  });

/** The text of standard input. @throws StandoffError as readText */
export const readInput = (what: string): string => reading('on standard input', what, () => readFileSync(0, 'utf8'));

/** The bytes of an input file. @throws StandoffError as readText */
export const readBytes = (path: string, what: string): Uint8Array =>
  reading(path, what, () => {
    refuseDevice(path, what);
    return readFileSync(path);
  });

/** A device such as /dev/zero has no end. */
function refuseDevice(path: string, what: string): void {
  if (!statSync(path).isCharacterDevice()) return;
  throw new StandoffError('file-refused', `the ${what} ${path} is a device, no file`, 'name a file');
}

function reading<T>(path: string, what: string, read: () => T): T {
  try {
    return read();
  } catch (error) {
    if (error instanceof StandoffError) throw error;
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
function sameFile(one: string, other: string): boolean {
  try {
    return realpathSync(one) === realpathSync(other);
  } catch {
    return false;
  }
}

/** A file that a command may write. */
export interface OutputName {
  /** The option that names it, such as `--out`. */
  readonly option: string;
  readonly path: string | undefined;
  /** What the name may end in; the ending tells the format. */
  readonly endings: readonly string[];
}

/**
 * Looks at the names of files to be written before any work is done for them.
 * @param inputs files that the command reads; they are never written over
 * @param force whether files that exist may be written over
 * @throws StandoffError `output-name`, `output-input`, `output-twice`, `file-exists`, `file-unwritable`
 */
export function checkOutputs(
  files: readonly OutputName[],
  inputs: readonly (string | undefined)[],
  force: boolean,
): void {
  const named = new Set<string>();
  for (const { option, path, endings } of files) {
    if (path === undefined) continue;
    const name = `${option} ${path}`;
    checkEnding(name, path, endings);
    if (inputs.some((input) => input !== undefined && sameFile(input, path))) {
      const what = `${name} is a file that this command reads`;
      throw new StandoffError('output-input', what, 'choose another name; --force does not help here');
    }
    if (named.has(path)) throw new StandoffError('output-twice', `${name} is named twice`, 'give each a name');
    named.add(path);
    refuseExisting(path, force);
    refuseUnwritable(path);
  }
}

/** @param named as the user gave it, such as `--out map.svg` @throws StandoffError `output-name` */
export function checkEnding(named: string, path: string, endings: readonly string[]): void {
  if (endings.some((ending) => path.endsWith(ending))) return;
  const remedy = `give a name that ends in ${endings.join(' or ')}`;
  throw new StandoffError('output-name', `${named} has no ending that tells its format`, remedy);
}

/** @throws StandoffError `file-exists` unless `force` */
export function refuseExisting(path: string, force: boolean): void {
  if (force || !existsSync(path)) return;
  throw new StandoffError('file-exists', `${path} exists`, 'choose another name, or overwrite it with --force');
}

/**
 * What is to be written after long work is looked at before it.
 * @throws StandoffError `file-unwritable` where the file's folder is missing or may not be written
 */
export function refuseUnwritable(path: string): void {
  const folder = dirname(path);
  const fail = (reason: string): never => {
    const what = `${path} cannot be written: the folder ${folder} ${reason}`;
    throw new StandoffError('file-unwritable', what, 'choose another name, or make the folder first');
  };
  if (!existsSync(folder)) fail('does not exist');
  if (!statSync(folder).isDirectory()) fail('is no folder');
  if (existsSync(path) && statSync(path).isDirectory()) {
    throw new StandoffError('file-unwritable', `${path} is a folder`, 'choose another name');
  }
  try {
    accessSync(folder, constants.W_OK);
  } catch {
    fail('may not be written');
  }
}

/**
 * Makes a folder, with those above it, unless it is there.
 * @throws StandoffError `folder-unwritable`
 */
export function makeFolder(folder: string): void {
  const remedy = 'choose another folder, or check its permissions';
  try {
    const missing: string[] = [];
    for (let at = folder; !existsSync(at); at = dirname(at)) missing.unshift(at);
    // One by one: made in one go, a folder below /proc is tried for ever.
    for (const one of missing) mkdirSync(one);
    accessSync(folder, constants.W_OK);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new StandoffError('folder-unwritable', `the folder ${folder} cannot be written (${code})`, remedy);
  }
  if (statSync(folder).isDirectory()) return;
  throw new StandoffError('folder-unwritable', `${folder} is no folder`, 'choose another folder');
}

/**
 * Writes what was asked for. Every name is looked at before anything is written.
 * @throws StandoffError as checkOutputs
 */
export function writeFiles(
  files: readonly (OutputName & { readonly text: () => string })[],
  inputs: readonly (string | undefined)[],
  force: boolean,
): void {
  checkOutputs(files, inputs, force);
  for (const { path, text } of files) {
    if (path === undefined) continue;
    const output = openOutput(path, force);
    output.write(Buffer.from(text()));
    output.close();
  }
}

/**
 * A file of firmware/image, as it came with this Standoff.
 * @throws StandoffError image-missing
 */
export function shippedFile(name: 'standoff.image' | 'standoff.uf2' | 'loader.bin'): string {
  const file = packageFile(`firmware/image/${name}`);
  if (existsSync(file)) return file;
  throw new StandoffError(
    'image-missing',
    `firmware/image/${name} did not come with this Standoff`,
    'install it again, or build it: node firmware/image/build.mjs',
  );
}

/**
 * Writes beside the old file first, then in its place: whatever happens, a whole file is there.
 * @throws StandoffError `file-unwritable`
 */
export function replaceFile(file: string, text: string): void {
  const beside = `${file}.${process.pid}.new`;
  try {
    writeFileSync(beside, text, { flag: 'wx' });
    renameSync(beside, file);
  } catch (error) {
    rmSync(beside, { force: true });
    const { code = 'unknown error' } = error as NodeJS.ErrnoException;
    throw new StandoffError(
      'file-unwritable',
      `${file} cannot be written (${code})`,
      'check the folder and the access rights',
    );
  }
}

/**
 * Writes a text into a new file of the working folder, under the time of day.
 * @returns the name of the file, such as `box-before-2026-11-30-175458.yaml` @throws StandoffError `file-unwritable`
 */
export function keepDated(stem: string, text: string): string {
  const stamp = new Date().toISOString().slice(0, 19).replace('T', '-').replaceAll(':', '');
  const names = ['', '-2', '-3', '-4'].map((more) => `${stem}-${stamp}${more}.yaml`);
  const name = names.find((one) => !existsSync(one)) ?? names[0]!;
  replaceFile(name, text);
  return name;
}

import { accessSync, constants, existsSync, mkdirSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import { StandoffError } from '../../base/index.js';
import { sameFile } from './files.js';

/**
 * The name of a file to be written ends in what tells its format.
 * @param named as the user gave it, such as `--out map.svg`
 * @throws StandoffError `output-name`
 */
export function checkEnding(named: string, path: string, endings: readonly string[]): void {
  if (endings.some((ending) => path.endsWith(ending))) return;
  const remedy = `give a name that ends in ${endings.join(' or ')}`;
  throw new StandoffError('output-name', `${named} has no ending that tells its format`, remedy);
}

/** @throws StandoffError `output-input` for a file that is read as well */
export function refuseInput(named: string, path: string, inputs: readonly string[], reader: string): void {
  if (!inputs.some((input) => sameFile(input, path))) return;
  const what = `${named} is a file that this ${reader} reads`;
  throw new StandoffError('output-input', what, 'choose another name; --force does not help here');
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

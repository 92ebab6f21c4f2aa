import { existsSync } from 'node:fs';
import { StandoffError } from '../base/index.js';
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

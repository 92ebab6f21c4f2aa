import { existsSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import { readSetup, updateBox } from '../../run/setup/index.js';
import { readText } from '../base/files.js';

/**
 * Gets ready to write a box's parameters into a setup file; what stands in the way is found before a port is opened.
 * @returns what writes them, and says in words what it did
 * @throws StandoffError `output-name`, `file-exists`, and what is wrong with a file that is no setup file
 */
export function saveBox(file: string, force: boolean): (box: ParameterValues) => string[] {
  if (!/\.ya?ml$/.test(file)) {
    const what = `${file} has no ending that tells its format`;
    throw new StandoffError('output-name', what, 'give a name that ends in .yaml or .yml');
  }
  if (!existsSync(file)) {
    return (box) => {
      write(file, updateBox(undefined, file, box));
      return [`Every parameter of the box is in ${file}.`];
    };
  }
  if (!force) {
    const remedy = 'choose another name, or give --force: it changes the section box and leaves the rest as it is';
    throw new StandoffError('file-exists', `${file} exists`, remedy);
  }
  const before = readText(file, 'setup');
  if (before.trim() !== '') readSetup(before, file);
  return (box) => {
    const after = updateBox(before, file, box);
    if (after === before) return [`${file} has these values already; it was not touched.`];
    write(file, after);
    return [`The section box of ${file} has what the box holds; the rest of it is as it was.`];
  };
}

/** Beside it first, then in its place: whatever happens, one whole file is there. */
function write(file: string, text: string): void {
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
      'look at the folder and the rights',
    );
  }
}

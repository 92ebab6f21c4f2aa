import { StandoffError } from '../../base/index.js';
import { openOutput } from '../../run/trace/index.js';
import { checkEnding, refuseInput } from './output-name.js';

/** A file that a command may write. */
export interface OutputFile {
  /** The option that names it. */
  readonly option: string;
  readonly path: string | undefined;
  readonly endings: readonly string[];
  readonly text: () => string;
}

/**
 * Writes what was asked for. Every name is looked at before anything is written.
 * @param inputs files that the command reads; they are never written over
 * @throws StandoffError `output-name`, `output-input`, `output-twice`, `file-exists`, `file-unwritable`
 */
export function writeFiles(
  files: readonly OutputFile[],
  inputs: readonly (string | undefined)[],
  force: boolean,
): void {
  const read = inputs.filter((input) => input !== undefined);
  const seen = new Set<string>();
  for (const { option, path, endings } of files) {
    if (path === undefined) continue;
    const named = `${option} ${path}`;
    checkEnding(named, path, endings);
    refuseInput(named, path, read, 'command');
    if (seen.has(path)) throw new StandoffError('output-twice', `${option} ${path} is named twice`, 'give each a name');
    seen.add(path);
  }
  for (const { path, text } of files) {
    if (path === undefined) continue;
    const output = openOutput(path, force);
    output.write(Buffer.from(text()));
    output.close();
  }
}

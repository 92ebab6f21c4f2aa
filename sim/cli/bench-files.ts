import { StandoffError } from '../base/index.js';
import { openOutput } from '../trace/index.js';
import { sameFile } from './files.js';

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
  const seen = new Set<string>();
  for (const { option, path, endings } of files) {
    if (path === undefined) continue;
    if (!endings.some((ending) => path.endsWith(ending))) {
      const remedy = `give a name that ends in ${endings.join(' or ')}`;
      throw new StandoffError('output-name', `${option} ${path} has no ending that tells its format`, remedy);
    }
    if (inputs.some((input) => input !== undefined && sameFile(input, path))) {
      const what = `${option} ${path} is a file that this command reads`;
      throw new StandoffError('output-input', what, 'choose another name; --force does not help here');
    }
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

// A mode of standoff fuzz with an input and an output of its own.

import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../../base/index.js';
import { type Replayed, replayOf } from '../../campaign/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { readScenario } from '../../run/setup/index.js';
import { asciiText, counted, terminalStyle, wrapText } from '../../views/text/index.js';

import { shellWords } from '../base/command-line.js';
import { runStatus } from '../base/exit.js';
import { readText } from '../base/files.js';

/** How a stored run went this time. */
interface Reproduced extends Replayed {
  readonly file: string;
}

/**
 * Cuts every stored run of a folder again and judges it as the campaign did.
 * @returns the exit status
 * @throws StandoffError for a folder without stored runs, or one that cannot be read; nothing has been run then
 */
export function reproduce(folder: string, options: { readonly json?: true; readonly plain?: true }): number {
  // All are read and planned before any is run: a bad file is told at once.
  const runs = storedRuns(folder).map((name) => {
    const file = join(folder, name);
    return { file, replay: replayOf(readScenario(readText(file, 'stored run'), file)) };
  });
  const module = loadControlModule();
  const results = runs.map(({ file, replay }): Reproduced => ({ file, ...replay(module) }));
  if (options.json) {
    const json = { format: 'standoff reproduction 1', module_sha256: module.sha256, results };
    process.stdout.write(`${JSON.stringify(json, null, 1)}\n`);
  } else {
    const style = terminalStyle(process.env, process.stdout, options.plain);
    const text = linesOf(results)
      .flatMap((line) => wrapText(line, style.columns, 2))
      .join('\n');
    process.stdout.write(`${style.unicode ? text : asciiText(text)}\n`);
  }
  const kept = results.every(({ broken }) => broken.length === 0);
  return runStatus({ kept, finished: results.every(({ finished }) => finished) });
}

function storedRuns(folder: string): string[] {
  const remedy = 'name a folder with stored runs, such as standoff fuzz --cases writes';
  if (!existsSync(folder)) throw new StandoffError('folder-missing', `the folder ${folder} does not exist`, remedy);
  if (!statSync(folder).isDirectory()) throw new StandoffError('folder-none', `${folder} is no folder`, remedy);
  const names = readdirSync(folder).filter((name) => /\.ya?ml$/.test(name));
  if (names.length === 0) throw new StandoffError('folder-empty', `no stored run (.yaml) in ${folder}`, remedy);
  return names.sort();
}

function linesOf(results: readonly Reproduced[]): string[] {
  const failing = results.filter(({ broken }) => broken.length > 0);
  const stopped = results.filter(({ finished }) => !finished).length;
  const excused = results.some(({ beyond }) => beyond.length > 0);
  return [
    ...results.map(({ file, broken, beyond, finished }) => {
      const end = finished ? '' : '; it did not come to its end';
      if (broken.length > 0) return `${file}: BROKEN: ${broken.join(', ')}${end}`;
      return `${file}: ${beyond.length > 0 ? `${beyond.join(', ')} not kept, which no box could have *` : 'every requirement kept'}${end}`;
    }),
    ...(excused
      ? ['* The axis failed, a hand fired the torch, or the hold input told the box to leave Z alone: not counted.']
      : []),
    `${counted(results.length, 'stored run')} cut again: ${failing.length === 0 ? 'no requirement was broken' : `${failing.length} of them BREAK a requirement`}.`,
    ...(stopped > 0 ? [`${stopped} of them did not come to the end of the program.`] : []),
    ...(failing.length > 0 ? [`See the first: standoff simulate ${shellWords(['--scenario', failing[0].file])}`] : []),
  ];
}

// The cases that a campaign stores in a folder, and how standoff fuzz --reproduce runs them again.
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../../base/index.js';
import {
  type CampaignRecord,
  type CaseRunner,
  needsText,
  type Replayed,
  readRecord,
  replayOf,
  storeCases,
} from '../../campaign/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { readScenario } from '../../run/setup/index.js';
import { STOPPER_WORDS } from '../../views/terminal/index.js';
import { asciiText, counted, terminalStyle, wrapText } from '../../views/text/index.js';
import { EXIT, shellWords } from '../base/command-line.js';
import { makeFolder, readText } from '../base/files.js';

/** The result of a campaign in a file. @throws StandoffError as for any file that is read, or that is no result */
export const readResult = (file: string): CampaignRecord => readRecord(readText(file, 'result'), file);

/**
 * Makes the folder for the cases of a campaign; called before the campaign, so that nothing is tried in vain.
 * @throws StandoffError `file-exists` when cases are in it already, `folder-unwritable`
 */
export function prepareCases(folder: string, force: boolean): void {
  makeFolder(folder);
  const taken = readdirSync(folder).find((name) => /^(broken|near)-.*\.yaml$/.test(name));
  if (taken === undefined || force) return;
  const what = `${join(folder, taken)} exists`;
  throw new StandoffError('file-exists', what, 'choose another folder, or overwrite with --force');
}

/**
 * Stores the cases of a campaign.
 * @param folder as prepareCases left it
 * @returns sentences on what was stored, what matters in it, and how to see it
 */
export function storedSentences(folder: string, record: CampaignRecord, runner: CaseRunner): string[] {
  const { broken, near } = storeCases(folder, record, runner);
  const see = (file: string) => `  See it: standoff simulate ${shellWords(['--scenario', file])}`;
  const misses = counted(near.length, 'nearest miss', 'nearest misses');
  return [
    ...(near.length > 0 ? [`${misses} in ${folder}, one for each requirement with a distance to it.`] : []),
    ...(near.length > 0 && broken.length === 0 ? [see(near[0].file)] : []),
    ...broken.flatMap(({ file, requirement, index, tries, needs }) => [
      `${file} breaks ${requirement} (cut ${index}, simplified in ${counted(tries, 'try', 'tries')}). It needs: ${needsText(needs)}.`,
      see(file),
    ]),
    ...(broken.length > 0 ? [`When it is mended: standoff fuzz ${shellWords(['--reproduce', folder])}`] : []),
  ];
}

/** How a stored run went this time. */
interface Reproduced extends Replayed {
  readonly file: string;
}

/**
 * Cuts every stored run of a folder again and judges it as the campaign did. A run that stops is one more run: with a planted
 * fault that is what the box is for.
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
  return results.every(({ broken }) => broken.length === 0) ? EXIT.kept : EXIT.broken;
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
  const stops = results.flatMap(({ stop }) => stop ?? []);
  const excused = results.some(({ beyond }) => beyond.length > 0);
  return [
    ...results.map(({ file, broken, beyond, stop }) => {
      const end = stop ? `; stopped by ${STOPPER_WORDS[stop.by]}, ${stop.cause}` : '';
      if (broken.length > 0) return `${file}: BROKEN: ${broken.join(', ')}${end}`;
      return `${file}: ${beyond.length > 0 ? `${beyond.join(', ')} not kept, which no box could have *` : 'every requirement kept'}${end}`;
    }),
    ...(excused
      ? [
          '* The axis failed, a hand fired the torch, the hold input told the box to leave Z alone, or the sheet rose faster than ' +
            'the motor climbs: not counted.',
        ]
      : []),
    `${counted(results.length, 'stored run')} cut again: ${failing.length === 0 ? 'no requirement was broken' : `${failing.length} of them BREAK a requirement`}.`,
    ...(stops.length > 0 ? [`${stops.length} of them stopped before the end of the program.`] : []),
    ...(failing.length > 0 ? [`See the first: standoff simulate ${shellWords(['--scenario', failing[0].file])}`] : []),
  ];
}

import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import {
  brokenIn,
  CampaignFile,
  CaseRunner,
  campaignIdentity,
  differences,
  mergeRecords,
} from '../../campaign/index.js';
import { type Ended, EXIT } from '../base/command-line.js';
import { checkOutputs } from '../base/files.js';
import { prepareCases, readResult, storedSentences } from './fuzz-cases.js';
import { printCampaign } from './fuzz-report.js';

const command = () =>
  new Command('merge')
    .description('Joins results of standoff fuzz --shard into the one that a single run would have given.')
    .argument('<files...>', 'results of all shards, as .json')
    .option('--out <file>', 'write the joined result, as .json')
    .option('--cases <folder>', 'store what broke a requirement, simplified, and the nearest miss of each requirement')
    .option('--force', 'write over files that exist')
    .option('--json', 'print the result as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nExit status: 0 no requirement broken, 1 a requirement broken, 2 bad input.');

/** `standoff merge`. */
export const mergeCommand = (ended: Ended) => command().action((files, options) => ended(merge(files, options)));

type MergeOptions = ReturnType<ReturnType<typeof command>['opts']>;

/**
 * Joins shards.
 * @returns the exit status
 * @throws StandoffError when they do not belong together or a file must not be written, before anything is written
 */
function merge(files: readonly string[], options: MergeOptions): number {
  const { out, cases } = options;
  const force = options.force === true;
  checkOutputs([{ option: '--out', path: out, endings: ['.json'] }], files, force);
  const record = mergeRecords(files.map((file) => ({ file, record: readResult(file) })));
  let stored: string[] = [];
  if (cases !== undefined) {
    // The same number is the same cut only in the build that ran it.
    if (differences(record, campaignIdentity(record.campaign, record.runs)).length > 0) {
      const what = '--cases cuts again, but these results are from another build of Standoff';
      throw new StandoffError('campaign-mixed', what, 'use that build, or leave --cases out');
    }
    prepareCases(cases, force);
    stored = storedSentences(cases, record, new CaseRunner(record.campaign));
  }
  if (out !== undefined) new CampaignFile(out).write(record);
  printCampaign(record, stored, options);
  return brokenIn(record.tally).length > 0 ? EXIT.broken : EXIT.kept;
}

import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../../base/index.js';
import { type CampaignRecord, type CaseRunner, needsText, readRecord, storeCases } from '../../campaign/index.js';
import { counted } from '../../views/text/index.js';

import { shellWords } from '../base/command-line.js';
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

import { existsSync, renameSync } from 'node:fs';
import { StandoffError } from '../base/index.js';
import { type CampaignRecord, differences, readRecord, type Span, writeRecord } from './index.js';
import { openOutput } from '../run/trace/index.js';
import { readText } from '../commands/base/files.js';
import { checkEnding, refuseExisting, refuseInput } from '../commands/base/output-name.js';

/** A result is kept this often, so that a power cut or a kill without warning costs no more. */
const KEEP_MS = 10_000;

/** @throws StandoffError as for any file that is read, or that is no result */
export const readResult = (file: string): CampaignRecord => readRecord(readText(file, 'result'), file);

/** @throws StandoffError `output-name`, `output-input`, `file-exists` */
export function checkResultName(out: string, force: boolean, inputs: readonly string[]): void {
  checkEnding(`--out ${out}`, out, ['.json']);
  refuseInput(`--out ${out}`, out, inputs, 'command');
  refuseExisting(out, force);
}

/**
 * Looks at --out before anything is run.
 * @returns what is there already and is to go on; undefined for a campaign from the beginning
 * @throws StandoffError `resume-nothing`, `result-exists`, and as `readResult`
 */
export function resultBefore(options: {
  readonly out?: string;
  readonly resume?: true;
  readonly force?: true;
}): CampaignRecord | undefined {
  const { out } = options;
  if (out === undefined) {
    if (options.resume) {
      throw new StandoffError(
        'resume-nothing',
        '--resume without --out',
        'name the file with --out, such as --out all.json',
      );
    }
    return undefined;
  }
  checkEnding(`--out ${out}`, out, ['.json']);
  if (options.force || !existsSync(out)) return undefined;
  if (options.resume) return readResult(out);
  const remedy = 'go on with it with --resume, overwrite it with --force, or choose another name';
  throw new StandoffError('result-exists', `${out} exists`, remedy);
}

/**
 * A campaign that goes on is what it was.
 * @throws StandoffError `resume-changed`, `campaign-mixed`
 */
export function refuseOtherWish(
  file: string,
  before: CampaignRecord,
  wanted: Pick<CampaignRecord, 'module_sha256' | 'simulator_sha256' | 'runs' | 'campaign' | 'part'>,
): void {
  const build = { module_sha256: before.module_sha256, simulator_sha256: before.simulator_sha256 };
  const other = differences({ ...wanted, ...build }, before);
  if (other.length === 0 && String(wanted.part) !== String(before.part)) {
    other.push(`the shard (${partText(wanted.part)} and ${partText(before.part)})`);
  }
  if (other.length > 0) {
    const what = `${file} cannot go on: this command and the file differ in ${other.join(' and ')}`;
    throw new StandoffError('resume-changed', what, 'give the command that began it, or another name to --out');
  }
  if (differences(wanted, before).length === 0) return;
  const what = `${file} cannot go on: it was begun with another build of Standoff`;
  throw new StandoffError(
    'campaign-mixed',
    what,
    'go on with that build, or begin again with --force instead of --resume',
  );
}

const partText = ([from, to]: Span): string => (to > from ? `cuts ${from} to ${to - 1}` : 'no cuts');

/** The file that holds a campaign while it runs. It is written beside first, so that it is never half written over. */
export class ResultFile {
  private kept_ms = Number.NEGATIVE_INFINITY;
  private readonly beside: string;

  /** @throws StandoffError `file-unwritable` */
  constructor(private readonly path: string) {
    this.beside = `${path}.part`;
    openOutput(this.beside, true).close();
  }

  /** Writes when the last time is some seconds ago; the first time at once. */
  keep(record: CampaignRecord): void {
    if (performance.now() - this.kept_ms < KEEP_MS) return;
    this.write(record);
    this.kept_ms = performance.now();
  }

  write(record: CampaignRecord): void {
    const output = openOutput(this.beside, true);
    output.write(Buffer.from(writeRecord(record)));
    output.close();
    renameSync(this.beside, this.path);
  }
}

import { renameSync } from 'node:fs';
import { StandoffError } from '../base/index.js';
import { openOutput } from '../run/trace/index.js';
import { type CampaignRecord, differences, type Span, writeRecord } from './record.js';

/** A result is kept this often, so that a power cut or a kill without warning costs no more. */
const KEEP_MS = 10_000;

/** The file that holds a campaign while it runs. A part file takes each write first, so that none is left half written. */
export class CampaignFile {
  private kept_ms = Number.NEGATIVE_INFINITY;
  private readonly part_file: string;

  /** @throws StandoffError `file-unwritable` */
  constructor(private readonly path: string) {
    this.part_file = `${path}.part`;
    openOutput(this.part_file, true).close();
  }

  /** Writes when the last time is some seconds ago; the first time at once. */
  keep(record: CampaignRecord): void {
    if (performance.now() - this.kept_ms < KEEP_MS) return;
    this.write(record);
    this.kept_ms = performance.now();
  }

  write(record: CampaignRecord): void {
    const output = openOutput(this.part_file, true);
    output.write(Buffer.from(writeRecord(record)));
    output.close();
    renameSync(this.part_file, this.path);
  }
}

/**
 * A campaign that is resumed must be the one that was begun: same cuts, same part, same build.
 * @param file that holds `before`, for messages
 * @throws StandoffError `resume-changed`, `campaign-mixed`
 */
export function refuseOtherCampaign(
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
    const what = `${file} cannot be resumed: this command and the file differ in ${other.join(' and ')}`;
    throw new StandoffError('resume-changed', what, 'give the command that began it, or another name to --out');
  }
  if (differences(wanted, before).length === 0) return;
  const what = `${file} cannot be resumed: it was begun with another build of Standoff`;
  const remedy = 'resume it with that build, or begin again with --force instead of --resume';
  throw new StandoffError('campaign-mixed', what, remedy);
}

const partText = ([from, to]: Span): string => (to > from ? `cuts ${from} to ${to - 1}` : 'no cuts');

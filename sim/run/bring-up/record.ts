import { StandoffError } from '../../base/index.js';
import type { Bench, StepResult } from './bench.js';

const FORMAT = 'standoff bring-up 1';

/** A step as it is kept. */
export interface RecordedStep extends StepResult {
  readonly count: number;
  readonly unit: string;
  /** ISO 8601. */
  readonly ended: string;
}

/** What was tried on one board, and what was found. */
export interface BringUpRecord {
  readonly format: typeof FORMAT;
  /** On what: an emulated board shows nothing of silicon. */
  readonly on: Bench['kind'];
  /** Serial number, or the port where that is not known. */
  readonly board: string;
  readonly way: Bench['way'];
  readonly image_sha256: string;
  readonly begun: string;
  readonly steps: Readonly<Record<string, RecordedStep>>;
}

export const newRecord = (
  head: Pick<BringUpRecord, 'on' | 'board' | 'way' | 'image_sha256'>,
  now: Date,
): BringUpRecord => ({
  format: FORMAT,
  ...head,
  begun: now.toISOString(),
  steps: {},
});

/** The same record with one step more. */
export const withStep = (record: BringUpRecord, name: string, step: RecordedStep): BringUpRecord => ({
  ...record,
  steps: { ...record.steps, [name]: step },
});

const VERDICTS: readonly string[] = ['passed', 'failed', 'not tried'];

/**
 * Reads a record that is to be continued.
 * @throws StandoffError `record-format`; `record-other`: it is of another board, firmware or way
 */
export function readRecord(
  text: string,
  file: string,
  here: Pick<BringUpRecord, 'on' | 'board' | 'way' | 'image_sha256'>,
): BringUpRecord {
  let read: BringUpRecord | undefined;
  try {
    read = JSON.parse(text) as BringUpRecord;
  } catch {
    // Told below.
  }
  const steps = Object.values(read?.steps ?? {});
  if (
    read?.format !== FORMAT ||
    !steps.every(({ verdict, words }) => VERDICTS.includes(verdict) && typeof words === 'string')
  ) {
    throw new StandoffError('record-format', `${file} is no record of a bring-up`, 'name another file, or none');
  }
  for (const key of ['on', 'board', 'way', 'image_sha256'] as const) {
    if (read[key] === here[key]) continue;
    const what = `${file} has ${key} ${read[key]}, here it is ${here[key]}`;
    throw new StandoffError('record-other', what, 'begin a record of its own for each board and each firmware');
  }
  return read;
}

/** Whether a step need not be done again. */
export const isDone = (record: BringUpRecord, name: string, count: number): boolean => {
  const step = record.steps[name];
  return step?.verdict === 'passed' && step.count >= count;
};

/** Lines for the section of the notes that says what silicon still has to show. */
export function noteLines({ on, board, image_sha256, begun, steps }: BringUpRecord): string[] {
  const rows = Object.entries(steps);
  const of = (verdict: StepResult['verdict']) => rows.filter(([, step]) => step.verdict === verdict);
  const day = begun.slice(0, 10);
  const head =
    on === 'emulated'
      ? [`Tried on an emulated board, ${day}: this shows nothing of silicon.`]
      : [`Shown on ${board}, ${day}, image ${image_sha256.slice(0, 12)}, with standoff bring-up:`];
  return [
    ...head,
    ...of('passed').map(([name, { words }]) => `- ${name}: ${words};`),
    ...of('failed').map(([name, { words }]) => `- ${name} FAILED: ${words};`),
    ...of('not tried').map(([name, { words }]) => `- ${name} not tried: ${words};`),
  ];
}

import { BOOT_ROWS, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS, type ParameterName, type ParameterValues } from '../../firmware/wire/parameter-rows.js';
import { contradictionOf } from '../../firmware/wire/relation-rows.js';
import { StandoffError } from '../base/index.js';
import type { Values } from './layout.js';
import type { Line } from './line.js';
import { type Answer, type Patience, refusalOf, SESSION_TIMES, type Session } from './session.js';

/** A box that hears the new speed answers at once. */
const AT_NEW_SPEED: Patience = { answer_ms: 100, tries: 3, steady: true };
/** The box goes back by itself after a second without a whole frame. */
const BACK_MS = 1200;

/** A speed, bit/s, where it means something: a USB port of the box's own has none, whatever was agreed. */
export const speedOn = (line: Line, baud: number): number | undefined => (line.of_the_box ? undefined : baud);

/**
 * Asks for another speed of the line, changes to it and checks that the box still answers; if not, goes back.
 * @param fallback the speed so far: BAUD_AT_START
 * @returns the speed in use
 * @throws StandoffError when the box does not answer at the old speed either, or the port does not take that speed
 */
export async function agreeSpeed(session: Session, baud: number, fallback: number): Promise<number> {
  const watched = session.unwatch();
  try {
    const answer = await session.askAnyway('line-speed', { baud });
    if (answer.status !== 0) return fallback;
    try {
      await session.line.setSpeed(baud);
      await session.ask('ping', {}, [], AT_NEW_SPEED);
      return baud;
    } catch {
      await session.line.setSpeed(fallback);
      await new Promise((resolve) => setTimeout(resolve, BACK_MS));
      await session.ask('ping', {}, [], SESSION_TIMES);
      return fallback;
    }
  } finally {
    if (watched) session.watch();
  }
}

/** Who answers, what it runs and why it started. */
export interface Identity {
  readonly protocol: number;
  readonly board: number;
  readonly in_loader: boolean;
  /** Name of the row in BOOT_ROWS. */
  readonly boot: string;
  readonly slot: number;
  readonly fault_before: number;
  readonly generation: number;
  readonly parameter_generation: number;
  readonly parameter_count: number;
  /** Z steps that the board can put out in a millisecond; 0: not told. */
  readonly capacity: number;
  readonly tick: number;
  readonly worst_tick_cycles: number;
  readonly cycles_per_ms: number;
  readonly version: string;
  readonly module_sha256: string;
  readonly image_sha256: string;
  /** As the chip names itself; 0: not told. */
  readonly chip_id: number;
}

/** `slot` of a loader without a valid image. */
export const NO_SLOT = 255;

const hex = (bytes: unknown): string => Buffer.from(bytes as Uint8Array).toString('hex');

/** Who answers. @throws StandoffError `box-…`, `link-silent`, `link-lost` */
export async function readIdentity(session: Session, patience?: Patience): Promise<Identity> {
  const { values } = await session.ask('identity', {}, [], patience);
  const plain = values as unknown as Identity;
  return {
    ...plain,
    in_loader: values.in_loader !== 0,
    boot: BOOT_ROWS[values.boot as number]?.name ?? `boot ${values.boot}`,
    module_sha256: hex(values.module_sha256),
    image_sha256: hex(values.image_sha256),
  };
}

const PARAMETER_BY_ID = new Map(PARAMETER_ROWS.map((row) => [row.id, row]));

/**
 * Every parameter in use, by name, in the unit of its row. Parameters that this Standoff does not know are left out.
 * @throws StandoffError `box-…`, `link-silent`, `link-lost`
 */
export async function readParameters(session: Session): Promise<ParameterValues> {
  const box: Partial<Record<ParameterName, number>> = {};
  for (let first = 0; first < PARAMETER_ROWS.length; ) {
    const { records } = await session.ask('parameters-read', { first, count: VALUES_A_FRAME });
    if (records.length === 0) break;
    for (const { id, value } of records) {
      const row = PARAMETER_BY_ID.get(id as number);
      if (row !== undefined) box[row.name] = value as number;
    }
    first += records.length;
  }
  return box;
}

/** 8 bytes each in a payload of 320. */
const VALUES_A_FRAME = 32;

/**
 * Stages values in the box, lets it check all of them together, and only then lets it use and keep them.
 * @returns the generation of the parameters kept
 * @throws StandoffError `parameter-unknown`; `box-parameter` with the parameter that was refused; `box-…`, `link-silent`, `link-lost`
 */
export async function writeParameters(session: Session, box: ParameterValues): Promise<number> {
  const values = Object.entries(box).map(([name, value]): Values => {
    const row = PARAMETER_ROWS.find((candidate) => candidate.name === name);
    if (row === undefined)
      throw new StandoffError('parameter-unknown', `there is no parameter ${name}`, 'standoff schema lists them');
    return { id: row.id, value };
  });
  // What an earlier session staged and never committed must not be committed with these.
  named(await session.askAnyway('parameters-stage', {}, []), 'parameters-stage', box);
  for (let at = 0; at < values.length; at += VALUES_A_FRAME) {
    named(
      await session.askAnyway('parameters-stage', {}, values.slice(at, at + VALUES_A_FRAME)),
      'parameters-stage',
      box,
    );
  }
  const check = await session.askAnyway('parameters-check');
  await refuseContradiction(session, check, box);
  named(check, 'parameters-check', box);
  const done = named(await session.askAnyway('parameters-commit'), 'parameters-commit', box);
  return done.values.generation as number;
}

/**
 * Changes the trim alone, also with the key on: in force at once, written nowhere, lost at power-off unless it is kept.
 * @returns the trim in force, V: never below the least standoff
 * @throws StandoffError `box-range`, `box-lockstep`, `link-silent`, `link-lost`
 */
export async function writeTrim(session: Session, trim_V: number): Promise<number> {
  return (await session.ask('trim', { trim_V })).values.trim_V as number;
}

/** The box says which two contradict each other; one of them may be among those that it has already. */
async function refuseContradiction(session: Session, { status, values }: Answer, box: ParameterValues): Promise<void> {
  if (STATUS_ROWS[status]?.name !== 'contradiction') return;
  const { capacity } = await readIdentity(session);
  const together = { ...(await readParameters(session)), ...box };
  const found = contradictionOf([values.id as number, values.other as number], together, capacity);
  if (found) throw new StandoffError('box-contradiction', `the box refuses: ${found.what}`, found.remedy);
}

/** The answer, or the error that names the parameter the box did not take. */
function named(answer: Answer, service: string, box: ParameterValues): Answer {
  if (answer.status === 0) return answer;
  const row = PARAMETER_BY_ID.get(answer.values.id as number);
  if (row === undefined) throw refusalOf(service, answer.status);
  const what = `the box does not take ${row.name} = ${box[row.name] ?? 'its value'}: ${refusalOf(service, answer.status).what.replace(/^.*: /, '')}`;
  throw new StandoffError('box-parameter', what, `its range is ${row.min} to ${row.max} ${row.unit}`);
}

/**
 * Records of the event ring or of the history, from a number on, up to the newest one at the first answer.
 * @throws StandoffError `box-…`, `link-silent`, `link-lost`
 */
export async function readRing(
  session: Session,
  service: 'events-read' | 'history-read',
  first = 0,
): Promise<Values[]> {
  const found: Values[] = [];
  let end = Number.POSITIVE_INFINITY;
  for (let next = first; next < end; ) {
    const { values, records } = await session.ask(service, { first: next, count: 0xffff });
    end = Math.min(end, values.next as number);
    found.push(...records);
    // The oldest records may have gone since the last answer.
    next = (values.first as number) + records.length;
    if (records.length === 0) break;
  }
  return found;
}

/** Mean and spread of the raw readings of the last whole second. */
export interface Readings {
  readonly count: number;
  readonly mean_counts: number;
  /** Standard deviation. */
  readonly spread_counts: number;
  readonly least_counts: number;
  readonly most_counts: number;
  /** Of the board's own reference. */
  readonly reference_counts: number;
}

/** The readings of the last whole second, counts. @throws StandoffError `box-…`, `link-silent`, `link-lost` */
export async function readReadings(session: Session): Promise<Readings> {
  const { values } = await session.ask('readings');
  const { count, sum, square_sum_low, square_sum_high, least, most, reference } = values as Record<string, number>;
  const mean_counts = count > 0 ? sum / count : 0;
  // The squares are of the distance from the least reading: small numbers, so no digits are lost.
  const mean_square = count > 0 ? (square_sum_high * 2 ** 32 + square_sum_low) / count : 0;
  const spread_counts = Math.sqrt(Math.max(0, mean_square - (mean_counts - least) ** 2));
  return {
    count: count,
    mean_counts,
    spread_counts,
    least_counts: least,
    most_counts: most,
    reference_counts: reference,
  };
}

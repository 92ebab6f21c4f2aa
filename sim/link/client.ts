import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../base/index.js';
import type { Values } from './layout.js';
import { refusalOf } from './remedies.js';
import type { Answer, Session } from './session.js';

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
  readonly tick: number;
  readonly worst_tick_cycles: number;
  readonly cycles_per_ms: number;
  readonly version: string;
  readonly module_sha256: string;
  readonly image_sha256: string;
}

const hex = (bytes: unknown): string => Buffer.from(bytes as Uint8Array).toString('hex');

export async function readIdentity(session: Session): Promise<Identity> {
  const { values } = await session.ask('identity');
  const plain = values as unknown as Identity;
  return {
    ...plain,
    in_loader: values.in_loader !== 0,
    boot: BOOT_ROWS[values.boot as number]?.name ?? `boot ${values.boot}`,
    module_sha256: hex(values.module_sha256),
    image_sha256: hex(values.image_sha256),
  };
}

/** Every parameter in use, by name. */
export async function readParameters(session: Session): Promise<Record<string, number>> {
  const box: Record<string, number> = {};
  const { length } = PARAMETER_ROWS;
  for (let first = 0; first < length; ) {
    const { records } = await session.ask('parameters-read', { first, count: VALUES_A_FRAME });
    if (records.length === 0) break;
    for (const { id, value } of records) {
      const row = PARAMETER_ROWS[id as number];
      if (row !== undefined) box[row.name] = value as number;
    }
    first += records.length;
  }
  return box;
}

/** 8 bytes each in a payload of 320. */
const VALUES_A_FRAME = 32;

/**
 * Puts values aside in the box, lets it check all of them together, and only then takes them into use and keeps them.
 * @throws StandoffError with the parameter that was refused
 */
export async function writeParameters(session: Session, box: Readonly<Record<string, number>>): Promise<number> {
  const values = Object.entries(box).map(([name, value]): Values => {
    const row = PARAMETER_ROWS.find((candidate) => candidate.name === name);
    if (row === undefined)
      throw new StandoffError('parameter-unknown', `there is no parameter ${name}`, 'standoff schema lists them');
    return { id: row.id, value };
  });
  for (let at = 0; at < values.length; at += VALUES_A_FRAME) {
    named(
      await session.askAnyway('parameters-stage', {}, values.slice(at, at + VALUES_A_FRAME)),
      'parameters-stage',
      box,
    );
  }
  named(await session.askAnyway('parameters-check'), 'parameters-check', box);
  const done = named(await session.askAnyway('parameters-commit'), 'parameters-commit', box);
  return done.values.generation as number;
}

/** The answer, or the error that names the parameter the box did not take. */
function named(answer: Answer, service: string, box: Readonly<Record<string, number>>): Answer {
  if (answer.status === 0) return answer;
  const row = PARAMETER_ROWS[answer.values.id as number];
  if (row === undefined) throw refusalOf(service, answer.status);
  const what = `the box does not take ${row.name} = ${box[row.name] ?? 'its value'}: ${refusalOf(service, answer.status).what.replace(/^.*: /, '')}`;
  throw new StandoffError('box-parameter', what, `its range is ${row.min} to ${row.max} ${row.unit}`);
}

/** Records of the event ring (or of the history) from a number on, all that there are. */
export async function readRing(
  session: Session,
  service: 'events-read' | 'history-read',
  first = 0,
): Promise<Values[]> {
  const found: Values[] = [];
  for (;;) {
    const { values, records } = await session.ask(service, { first: first + found.length, count: 0xffff });
    if (found.length === 0) first = values.first as number;
    found.push(...records);
    if (records.length === 0 || first + found.length >= (values.next as number)) return found;
  }
}

/**
 * Asks for another speed of the line, changes to it, and makes sure that the box is still heard; if not, goes back.
 * @returns the speed in use
 */
export async function agreeSpeed(session: Session, baud: number, fallback: number): Promise<number> {
  const answer = await session.askAnyway('line-speed', { baud });
  if (answer.status !== 0) return fallback;
  await session.line.setSpeed(baud);
  try {
    await session.ask('ping');
    return baud;
  } catch {
    // The box goes back by itself after a second without a whole frame.
    await session.line.setSpeed(fallback);
    await new Promise((resolve) => setTimeout(resolve, BACK_MS));
    await session.ask('ping');
    return fallback;
  }
}

const BACK_MS = 1200;

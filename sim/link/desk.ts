import { FAULT_ROWS, MODE_ROWS } from '../../firmware/wire/code-rows.js';
import { FLAG_NEAR_ZERO, INPUT_KEY, OUTPUT_LATCHED_STOP } from '../../firmware/wire/layout.gen.js';
import { BAUD_AT_START, SETTLED_TICK, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import type { Identity } from './client.js';
import { leaveLoader, openAgain, pause, restartBox, wentAlong, withBox } from './loader-session.js';
import { refusalOf, type Session } from './session.js';

/** Where a box stands, as the service `state` says it. */
export interface BoxState {
  readonly tick: number;
  /** INPUT_*, OUTPUT_*, FLAG_*. */
  readonly digital_inputs: number;
  readonly digital_outputs: number;
  readonly flags: number;
  readonly measured_V: number;
  /** Codes of MODE_ROWS, FAULT_ROWS and REFUSAL_ROWS. */
  readonly mode: number;
  readonly fault: number;
  readonly refusal: number;
  /** 1: in the desk state. */
  readonly desk: number;
}

const REST = MODE_ROWS.findIndex(({ name }) => name === 'rest');
const FAULT = MODE_ROWS.findIndex(({ name }) => name === 'fault');
const UNKNOWN = STATUS_ROWS.findIndex(({ name }) => name === 'unknown');
const START_MS = 5000;
const LOOK_MS = 100;

/** @returns undefined for a box that is older than the service @throws StandoffError `link-…` */
export async function readState(session: Session): Promise<BoxState | undefined> {
  const { status, values } = await session.askAnyway('state');
  if (status === 0) return values as unknown as BoxState;
  if (status === UNKNOWN) return undefined;
  throw refusalOf('state', status);
}

/** `in the fault voltage-at-rest (…), 63.0 V at the tap, latched stop set`. */
export function stateWords(state: BoxState): string {
  const fault = FAULT_ROWS[state.fault];
  const where =
    state.mode === FAULT && fault
      ? `in the fault ${fault.name} (${fault.meaning})`
      : `in ${MODE_ROWS[state.mode]?.name}`;
  const voltage = (state.flags & FLAG_NEAR_ZERO) !== 0 ? '' : `, ${state.measured_V.toFixed(1)} V at the tap`;
  const stop = (state.digital_outputs & OUTPUT_LATCHED_STOP) !== 0 ? ', latched stop set' : '';
  const key = (state.digital_inputs & INPUT_KEY) !== 0 ? ', key on' : '';
  const desk = state.desk !== 0 ? ', in the desk state: outputs at rest until a restart' : '';
  return `${where}${voltage}${stop}${key}${desk}`;
}

/** Why and how the box was brought into the desk state. */
export interface DeskBegun {
  /** A sentence for the person. */
  readonly words: string;
  /** The fault that it stands in, a code of FAULT_ROWS; 0: none. */
  readonly fault: number;
}

/**
 * Brings a box into the desk state if a fault or voltage at the tap is all that stands in the way of changing it.
 * @param after what will end it, for the sentence
 * @returns undefined when there is no need, or somebody brought it there before
 * @throws StandoffError `box-busy` with what the box does, `box-key`, `link-…`
 */
export async function beginDesk(session: Session, after: string): Promise<DeskBegun | undefined> {
  const state = await readState(session);
  if (state === undefined || state.desk !== 0 || (state.digital_inputs & INPUT_KEY) !== 0) return undefined;
  if (state.mode === REST && (state.flags & FLAG_NEAR_ZERO) !== 0) return undefined;
  if (state.mode !== REST && state.mode !== FAULT) throw inTheMiddle(state);
  const { status } = await session.askAnyway('desk-begin');
  if (STATUS_ROWS[status]?.name === 'busy') throw inTheMiddle(state);
  if (status !== 0) throw refusalOf('desk-begin', status);
  const stays = (state.digital_outputs & OUTPUT_LATCHED_STOP) !== 0;
  const ends = state.fault === 0 || stays ? '' : ', which ends the fault';
  const stop = stays ? ` ${STOP_STAYS}` : '';
  const words = `The box stands ${stateWords(state)}. It is in the desk state now: its outputs rest until ${after}${ends}.${stop}`;
  return { words, fault: state.fault };
}

/** A restart ends no fault that sets the latched stop. */
const STOP_STAYS =
  'Fault and latched stop outlast that: they end by the reset button once the cause is gone, or by switching the box off and on.';

const inTheMiddle = (state: BoxState) =>
  new StandoffError(
    'box-busy',
    `the box is not at rest: it stands ${stateWords(state)}`,
    'end the cut and wait until Z is back, then try again',
  );

/** Where a box stands some time after its start. @throws StandoffError `box-desk` when it has not started again */
async function settledState(session: Session): Promise<BoxState | undefined> {
  for (let waited_ms = 0; ; waited_ms += LOOK_MS) {
    const state = await readState(session);
    if (state === undefined) return undefined;
    if (state.desk !== 0) {
      const what = 'the box is in the desk state still: it was told to start again, and did not';
      throw new StandoffError('box-desk', what, 'switch the box off and on');
    }
    if (state.tick > SETTLED_TICK || waited_ms >= START_MS) return state;
    await pause(LOOK_MS);
  }
}

/** `The box has started again, and stands again in the fault …`. @param fault that it stood in before */
export function startedWords(state: BoxState | undefined, fault: number): string {
  if (state === undefined) return 'The box has started again.';
  const back = state.mode === FAULT && state.fault === fault ? 'again ' : '';
  return `The box has started again, and stands ${back}${stateWords(state)}.`;
}

/**
 * Ends the desk state by a restart. Where the port is the box's own, the session ends with it, and another one asks.
 * @returns where the box stands 1.5 s after its start
 * @throws StandoffError `box-not-begun` when it is in no desk state, `box-desk` when it is still in it, `box-key`;
 *   `flash-…`, `link-…`, `port-…`
 */
export async function endDesk(session: Session): Promise<BoxState | undefined> {
  session.unwatch();
  try {
    await restartBox(session, BAUD_AT_START, { wait_ms: START_MS });
    return await settledState(session);
  } catch (error) {
    if (!wentAlong(session.line, error)) throw error;
  }
  const open = () => openAgain(session.openPort, START_MS);
  const work = async (found: Session, identity: Identity) => {
    await leaveLoader(found, identity);
    return settledState(found);
  };
  return withBox(session.line.address, work, undefined, undefined, open);
}

/**
 * Does work that wants a box at rest; where a fault or voltage stands in the way, in the desk state, which a restart ends.
 * @param say told about each step that a person has to know of
 * @param work says itself what came of it: the restart after it may fail, and over USB it ends the session
 * @throws what the work throws, after the restart; `box-busy`, `box-key`, `link-…`
 */
export async function withDesk<T>(session: Session, say: (text: string) => void, work: () => Promise<T>): Promise<T> {
  const begun = await beginDesk(session, 'the restart at the end of this command');
  if (begun === undefined) {
    const done = await work();
    const still = session.lost === '' ? await readState(session) : undefined;
    if (still !== undefined && still.desk !== 0) say(deskStillWords(session));
    return done;
  }
  say(begun.words);
  let result: T;
  try {
    result = await work();
  } catch (error) {
    // What went wrong first is what the person has to know.
    await leaveDesk(session, begun, say).catch(() => {});
    throw error;
  }
  await leaveDesk(session, begun, say);
  return result;
}

/** Ends the desk state, and says what came of it. @throws what `endDesk` throws */
async function leaveDesk(session: Session, { fault }: DeskBegun, say: (text: string) => void): Promise<void> {
  try {
    if (session.lost !== '') throw new StandoffError('link-lost', session.lost, 'check plug and cable of the box');
    say(startedWords(await endDesk(session), fault));
  } catch (error) {
    say(`The box may be in the desk state still: standoff box restart --port ${session.line.address} ends it.`);
    throw error;
  }
}

/** Of a box that was in the desk state before a command came, and is so after it. */
export const deskStillWords = ({ line }: Session): string =>
  `The box is in the desk state still, as before: its outputs rest. With the key off, standoff box restart --port ${line.address} ends it.`;

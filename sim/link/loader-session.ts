import { BAUD_AT_START, BOOT_ROWS, PAYLOAD_MOST, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';
import { StandoffError } from '../base/index.js';
import { type Identity, NO_SLOT, readIdentity } from './client.js';
import type { Image } from './image.js';
import { layoutBytes } from './layout.js';
import { type Line, openLine } from './line.js';
import { type Answer, type Patience, refusalOf, Session, type SessionTimes } from './session.js';

/** How to wait for the loader and the box. */
export interface LoaderWait {
  /** Longest wait for the loader, and for the box after the restart, ms. */
  readonly wait_ms: number;
  /** Called once when nobody answers, with what the port does: a person can now switch the box off and on; the asking goes on. */
  readonly onNoAnswer?: (what: string) => void;
  readonly signal?: AbortSignal;
}

/** A starting box listens for 150 ms: it is asked at least twice in that time, and any answer will do. */
const CALL: Patience = { answer_ms: 40, tries: 10, steady: true };
const ASK_AGAIN_MS = 100;
/** After this long without an answer, ask a person for help. */
const NO_ANSWER_MS = 1500;
/** Long enough for a loader that nobody asks to start the image. */
const QUIET_MS = 400;
/** Within this time a loader that has given an image up goes back to the one before it, and starts that. */
const GOES_BACK_MS = 1500;
/** Restarts after which a loader that still answers will not start the image. */
export const RESTARTS = 3;
const PROTOCOL = numberOf(FORMAT_NUMBER_ROWS, 'PROTOCOL');
/** Of a box that heard the request a second time, when it had started. */
const STARTED = ['unknown', 'not-begun'].map((word) => STATUS_ROWS.find(({ name }) => name === word)!.code);

export const pause = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** Codes of errors after which a link may be resumed. */
export const BROKEN = ['link-lost', 'link-silent', 'port-missing', 'port-failed', 'port-closed'];
/** Whether it is an error after which a link may be resumed: the port, or whoever is behind it, is away. */
export const isBroken = (error: unknown): error is StandoffError =>
  error instanceof StandoffError && BROKEN.includes(error.code);

/** Whether this is how a restart of the box ends a line that is its own port. */
export const wentAlong = (line: Line, error: unknown): boolean =>
  line.of_the_box === true && error instanceof StandoffError && error.code === 'link-lost';

/** Brings the box into its loader. @throws StandoffError with the box's reason to refuse; `flash-no-loader` */
export async function enterLoader(session: Session, wait: LoaderWait): Promise<void> {
  await leave(session, 'loader-enter');
  await awaitIdentity(session, wait, (identity) => identity.in_loader);
}

/**
 * Starts the image from the loader and waits until the box itself answers.
 * @param baud speed of the line after a start
 * @throws StandoffError `flash-not-started` when the loader keeps answering, `flash-no-loader` when nobody does
 */
export async function restartBox(session: Session, baud: number, wait: LoaderWait): Promise<Identity> {
  for (let restarts = 1; ; restarts++) {
    await leave(session, 'restart');
    await session.line.setSpeed(baud);
    await pause(QUIET_MS);
    const identity = await startedOrLoader(session, wait);
    if (!identity.in_loader) return identity;
    if (restarts >= RESTARTS) throw notStarted(identity);
  }
}

/** Who answers; a loader that has given the image up is waited for while it may go back to the one before. */
async function startedOrLoader(session: Session, wait: LoaderWait): Promise<Identity> {
  const begun_ms = performance.now();
  for (;;) {
    const identity = await awaitIdentity(session, wait, () => true);
    if (identity.boot !== 'image-fails' || performance.now() - begun_ms > GOES_BACK_MS) return identity;
    await pause(ASK_AGAIN_MS);
  }
}

/** The loader answers again and again, not the image. */
export function notStarted({ boot }: Identity): StandoffError {
  const why = BOOT_ROWS.find(({ name }) => name === boot)?.meaning ?? boot;
  const what = `the image is in the box, but it does not start: the loader answers (${why})`;
  return new StandoffError('flash-not-started', what, 'flash the image that ran before, or another one');
}

/** A request that restarts the other end. Sent again, it may be heard twice, the second time by whoever has started. */
async function leave(session: Session, service: 'loader-enter' | 'restart'): Promise<void> {
  try {
    const { status } = await session.askAnyway(service);
    if (status !== 0 && !STARTED.includes(status)) throw refusalOf(service, status);
  } catch (error) {
    // The answer may be what was lost: the next answer tells.
    if (!(error instanceof StandoffError) || error.code !== 'link-silent') throw error;
  }
}

/**
 * Asks until the wanted one answers: the box is starting, or a person is about to switch it on.
 * @throws StandoffError `flash-no-loader`, `flash-stopped`
 */
export async function awaitIdentity(
  session: Session,
  { wait_ms, onNoAnswer, signal }: LoaderWait,
  wanted: (identity: Identity) => boolean,
): Promise<Identity> {
  const begun_ms = performance.now();
  let told = false;
  let other = false;
  let what = '';
  for (;;) {
    if (signal?.aborted) throw new StandoffError('flash-stopped', 'stopped while waiting', 'run it again');
    try {
      const identity = await readIdentity(session, CALL);
      if (wanted(identity)) return identity;
      other = true;
      await pause(ASK_AGAIN_MS);
    } catch (error) {
      if (!(error instanceof StandoffError) || error.code !== 'link-silent') throw error;
      what = error.what;
    }
    const waited_ms = performance.now() - begun_ms;
    if (waited_ms > NO_ANSWER_MS && !told && !other) {
      told = true;
      onNoAnswer?.(what);
    }
    if (waited_ms <= wait_ms) continue;
    const who = other ? 'the box answers, but its loader does not come' : 'nobody answers';
    const remedy = 'is it the right port? Switch the box off and on, or press its reset, while flash is waiting';
    const within = `${who}, on ${session.line.address}, within ${Math.round(wait_ms / 1000)} s`;
    throw new StandoffError('flash-no-loader', within, remedy);
  }
}

/** A port of the box's own goes with its restart: it is looked for this often. */
export const PORT_AGAIN_MS = 100;
/** Longest wait for a box that was told to start its image, ms. */
const START_MS = 5000;

/** Why a port that has just come back may not open yet: the system sets its owner, and looks at it itself, after it made it. */
const NOT_YET = ['port-missing', 'port-refused', 'port-busy', 'port-failed'];

/**
 * Opens a port that went with the restart of its box, once the system has it again and lets it be opened.
 * @throws StandoffError `port-missing` when it does not come back; `port-…`
 */
export async function openAgain(open: () => Promise<Line>, wait_ms: number, signal?: AbortSignal): Promise<Line> {
  const begun_ms = performance.now();
  for (;;) {
    try {
      return await open();
    } catch (error) {
      const waits = error instanceof StandoffError && NOT_YET.includes(error.code);
      if (!waits || signal?.aborted || performance.now() - begun_ms > wait_ms) throw error;
      await pause(PORT_AGAIN_MS);
    }
  }
}

/** A box that is there answers sooner, ms. */
const SLOW_MS = 1000;

/** Who answers; a person is told when it takes long. @throws StandoffError `link-…`, `box-…` */
export async function identifyTelling(session: Session, onSlow: () => void): Promise<Identity> {
  const timer = setTimeout(onSlow, SLOW_MS);
  try {
    return await readIdentity(session);
  } finally {
    clearTimeout(timer);
  }
}

/**
 * Opens a port, asks who is there, does the work, and closes the port again. Where the work starts the image from the loader,
 * and the port is the box's own and goes along, the work is begun again with the box.
 * @param onSlow called after a second without an answer
 * @throws StandoffError `port-…`, `link-…`, `box-…`
 */
export async function withBox<T>(
  address: string,
  work: (session: Session, identity: Identity) => Promise<T>,
  times?: SessionTimes,
  onSlow: () => void = () => {},
  open: (address: string) => Promise<Line> = openLine,
): Promise<T> {
  let line = await open(address);
  for (let starts = 1; ; starts++) {
    const session = new Session(line, times, () => open(address));
    let in_loader = false;
    try {
      const identity = await identifyTelling(session, onSlow);
      ({ in_loader } = identity);
      return await work(session, identity);
    } catch (error) {
      if (!in_loader || !wentAlong(line, error) || starts > RESTARTS) throw error;
    } finally {
      await session.close();
    }
    line = await openAgain(() => open(address), START_MS);
  }
}

/** Whether the loader has an image that it may start. */
export const hasImage = ({ slot, boot }: Identity): boolean => slot !== NO_SLOT && boot !== 'image-fails';

/**
 * A box that is asked who it is while it starts stays in its loader for a while: this tells it to start its image.
 * @returns who answers then; a loader without an image stays
 */
export async function leaveLoader(session: Session, identity: Identity): Promise<Identity> {
  if (!identity.in_loader || !hasImage(identity)) return identity;
  return restartBox(session, BAUD_AT_START, { wait_ms: START_MS });
}

/**
 * Refuses what cannot be set, watched or compared.
 * @throws StandoffError `box-in-loader`: the loader knows neither parameters nor telemetry; `box-version`: the box and this
 *   host lay out their requests differently
 */
export function refuseUnusable(identity: Identity): void {
  if (!identity.in_loader) {
    if (identity.protocol === PROTOCOL) return;
    const what = `the box speaks version ${identity.protocol} of the link, this Standoff version ${PROTOCOL}`;
    throw new StandoffError('box-version', what, 'bring the image of this Standoff into the box: standoff flash');
  }
  const what = `the loader answers, not the box: ${hasImage(identity) ? 'it has not started' : 'it has no image that starts'}`;
  throw new StandoffError('box-in-loader', what, 'bring an image into the box: standoff flash');
}

/**
 * Does pieces of work 0 … count − 1, begun in order. A piece begins when the one `window` places before it is done, so
 * that a slow piece is never left far behind.
 * @throws what the first failed piece threw; no further piece begins
 */
export async function pipeline(count: number, window: number, piece: (index: number) => Promise<void>): Promise<void> {
  const under_way: Promise<void>[] = [];
  for (let next = 0; next < count; next++) {
    if (under_way.length === window) await under_way.shift();
    const work = piece(next);
    // It is awaited in its turn; until then its failure is not unhandled.
    work.catch(() => {});
    under_way.push(work);
  }
  for (const work of under_way) await work;
}

/** Bytes of the image in a frame: a page of flash. */
const CHUNK = 256;
/** Frames under way: enough to keep the line full while the box answers. */
const WINDOW = 8;
const BUSY_AGAIN_MS = 10;
/** Longest that the flash chip may keep the loader busy: erasing and writing a whole slot, ms. */
const BUSY_MOST_MS = 30_000;
const PLACE_TRIES = 20;
const codeOf = (name: string) => STATUS_ROWS.find((row) => row.name === name)!.code;
const BUSY = codeOf('busy');
const PLACE = codeOf('place');
const UNKNOWN = codeOf('unknown');
const NOT_BEGUN = codeOf('not-begun');
if (CHUNK + layoutBytes('update_bytes') > PAYLOAD_MOST) throw new Error('a chunk does not fit in a frame');

/** A loader that no longer knows its own services is one no more: the box has started again, and the update is resumed. */
function refusedUpdate(service: string, status: number): StandoffError {
  if (status !== UNKNOWN && status !== NOT_BEGUN) return refusalOf(service, status);
  const what = 'the box has started again in the middle: its power was gone, or its reset pressed';
  const remedy = 'look at its power and flash again; it still starts the image that it had';
  return new StandoffError('link-lost', what, remedy);
}

/** Announces the image. @returns the slot that it is for, and bytes of it that the loader already has */
export async function beginUpload(session: Session, { head }: Image): Promise<{ slot: number; received: number }> {
  const { values } = await askWhileBusy(session, 'update-begin', head);
  return { slot: values.slot as number, received: values.received as number };
}

/**
 * Sends the body from an offset on, with several frames under way.
 * @param onReceived told how many bytes the loader has; may throw to stop
 * @throws StandoffError with the loader's reason; `link-…`
 */
export async function sendBody(
  session: Session,
  { body }: Image,
  from: number,
  onReceived: (received: number) => void,
): Promise<void> {
  let received = from;
  /** Offsets that are being sent again. */
  const repairs = new Map<number, Promise<void>>();
  const take = ({ values }: Answer) => {
    received = Math.max(received, values.received as number);
    onReceived(received);
  };
  const send = async (offset: number): Promise<void> => {
    for (let tries = 1; ; tries++) {
      const answer = await session.askAnyway('update-write', { offset }, body.subarray(offset, offset + CHUNK));
      if (answer.status === 0) return take(answer);
      if (answer.status !== PLACE || tries >= PLACE_TRIES) throw refusedUpdate('update-write', answer.status);
      // An earlier frame was lost. It is sent again at once, not only after its answer is overdue.
      take(answer);
      if (received < offset) await repair(received);
    }
  };
  const repair = (offset: number): Promise<void> => {
    let work = repairs.get(offset);
    if (work === undefined) {
      work = send(offset).finally(() => repairs.delete(offset));
      repairs.set(offset, work);
    }
    return work;
  };
  const frames = Math.ceil((body.length - from) / CHUNK);
  await pipeline(frames, WINDOW, (index) => send(from + index * CHUNK));
}

/** Lets the loader verify and mark the image. @returns slot and generation of it */
export async function finishUpload(session: Session): Promise<{ readonly slot: number; readonly generation: number }> {
  const { values } = await askWhileBusy(session, 'update-finish');
  return { slot: values.slot as number, generation: values.generation as number };
}

/** The loader answers busy while the flash chip is at work. */
async function askWhileBusy(session: Session, service: string, values = {}): Promise<Answer> {
  const begun_ms = performance.now();
  for (;;) {
    const answer = await session.askAnyway(service, values);
    if (answer.status === 0) return answer;
    if (answer.status !== BUSY) throw refusedUpdate(service, answer.status);
    if (performance.now() - begun_ms > BUSY_MOST_MS) {
      const what = `the loader has been busy with ${service} for ${BUSY_MOST_MS / 1000} s`;
      throw new StandoffError('flash-busy', what, 'switch the box off and on, and flash again');
    }
    await pause(BUSY_AGAIN_MS);
  }
}

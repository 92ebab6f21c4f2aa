import { BAUD_AT_START, PAYLOAD_MOST, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import { agreeSpeed, type Identity } from './client.js';
import { beginDesk } from './desk.js';
import type { Image } from './image.js';
import { layoutBytes } from './layout.js';
import type { Line } from './line.js';
import {
  awaitIdentity,
  enterLoader,
  isBroken,
  type LoaderWait,
  notStarted,
  openAgain,
  PORT_AGAIN_MS,
  pause,
  RESTARTS,
  restartBox,
} from './loader-session.js';
import { type Answer, refusalOf, Session } from './session.js';

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
  return new StandoffError(
    'link-lost',
    what,
    'look at its power and flash again; it still starts the image that it had',
  );
}

/** Announces the image. @returns bytes of it that the loader already has */
async function beginUpload(session: Session, { head }: Image): Promise<number> {
  const { values } = await askWhileBusy(session, 'update-begin', head);
  return values.received as number;
}

/**
 * Sends the body from an offset on, with several frames under way.
 * @param onReceived told how many bytes the loader has; may throw to stop
 * @throws StandoffError with the loader's reason; `link-…`
 */
async function sendBody(
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
async function finishUpload(session: Session): Promise<{ readonly slot: number; readonly generation: number }> {
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

/** What is being done, for a progress bar. */
export interface FlashProgress {
  readonly phase: 'ask' | 'wait-for-loader' | 'send' | 'write' | 'restart' | 'reconnect';
  /** Bytes of the body that the box has, and all of them. */
  readonly sent: number;
  readonly length: number;
  /** While sending: rate since the link was last resumed, and time left at this rate; both 0 before the first answer. */
  readonly bytes_per_s: number;
  readonly left_s: number;
}

/** What is flashed over which line, and who is told. */
export interface FlashOptions {
  /** Opens the line; called again after a broken link. */
  readonly open: () => Promise<Line>;
  readonly image: Image;
  /** Speed to try while the image is sent, bit/s. */
  readonly baud: number;
  readonly onProgress?: (progress: FlashProgress) => void;
  /** Called with what is in the box, before anything is written. */
  readonly onBefore?: (identity: Identity) => void;
  /** Told when a fault or voltage stands in the way and the box was brought into the desk state. */
  readonly onDesk?: (sentence: string) => void;
  /** Called when nobody answers: a person can now switch the box off and on, or press its reset. */
  readonly onNoAnswer?: () => void;
  /** Longest wait for the loader, and for the box after the restart, ms. */
  readonly wait_ms?: number;
  /** Broken links to resume after. */
  readonly reconnects?: number;
  readonly signal?: AbortSignal;
}

/** How an update ended. */
export interface FlashResult {
  /** What answers after the restart. */
  readonly after: Identity;
  readonly slot: number;
  readonly generation: number;
  readonly reconnects: number;
  /** Time from the first byte since the link was last resumed to the mark, ms, and the speed of the line. */
  readonly transfer_ms: number;
  readonly baud: number;
}

type Mark = Pick<FlashResult, 'slot' | 'generation' | 'transfer_ms' | 'baud'>;

const WAIT_MS = 20_000;
const RECONNECTS = 20;
const BACK_OFF_MS = 200;
const BACK_OFF_MOST_MS = 2000;
/** A line that has fallen silent this often cannot hold its speed. */
const SILENCES_AT_SPEED = 2;

/**
 * Brings an image into the box: enters the loader, sends the image, has it verified and marked, restarts the box and asks
 * who it is. A broken link is resumed where it broke.
 * @throws StandoffError with the box's reason; `flash-…`; `port-…` when the port cannot be opened at the start
 */
export function flash(options: FlashOptions): Promise<FlashResult> {
  return new Flasher(options).run();
}

class Flasher {
  /** The box has said who it is. */
  private known = false;
  /** The loader was asked to verify and mark: after a broken link the image may be in place. */
  private finishing = false;
  private mark: Mark | undefined;
  private reconnects = 0;
  /** The box was told to restart: a port of its own goes along, and comes back. */
  private restarting = false;
  /** Restarts with which the port went, since the image was marked. */
  private restarts = 0;
  private silences = 0;
  private sent = 0;
  private begun_ms = 0;
  private session: Session | undefined;

  constructor(private readonly options: FlashOptions) {}

  async run(): Promise<FlashResult> {
    for (;;) {
      try {
        const after = await this.attempt();
        return { ...this.mark!, after, reconnects: this.reconnects };
      } catch (error) {
        await this.mayGoOn(error);
      } finally {
        await this.session?.close();
        this.session = undefined;
      }
      if (this.restarting) await pause(PORT_AGAIN_MS);
      else {
        this.progress('reconnect');
        await pause(Math.min(BACK_OFF_MOST_MS, BACK_OFF_MS * this.reconnects));
      }
    }
  }

  /** Counts a broken link. @throws what cannot be resumed */
  private async mayGoOn(error: unknown): Promise<void> {
    const { signal, reconnects = RECONNECTS } = this.options;
    // Before the box has said who it is, a silent port is the wrong port, not a broken link.
    if (!isBroken(error) || !this.known || signal?.aborted) throw error;
    this.restarting &&= error.code === 'link-lost' && this.session?.line.of_the_box === true;
    if (this.restarting) {
      if (this.mark !== undefined) this.restarts++;
      return;
    }
    if (error.code === 'link-silent') this.silences++;
    if (this.reconnects >= reconnects) {
      const what = `the link broke ${this.reconnects + 1} times; the last time: ${error.what}`;
      const remedy = 'check cable and plug, use a lower --baud; the box still has an image that starts';
      throw new StandoffError('flash-broken', what, remedy);
    }
    this.reconnects++;
  }

  /** From opening the line to the answer of the restarted box. */
  private async attempt(): Promise<Identity> {
    const { open, image, onBefore, onDesk, onNoAnswer, signal, wait_ms = WAIT_MS } = this.options;
    const wait: LoaderWait = { wait_ms, ...(onNoAnswer && { onNoAnswer }), ...(signal && { signal }) };
    this.progress('ask');
    const session = new Session(await (this.restarting ? openAgain(open, wait_ms, signal) : open()));
    this.session = session;
    this.restarting = false;
    const identity = await awaitIdentity(session, wait, () => true);
    if (!this.known) onBefore?.(identity);
    this.known = true;
    // The link may have broken between the mark and its answer.
    if (this.finishing && identity.image_sha256 === image.image_sha256) {
      const { slot, generation } = identity;
      this.mark ??= { slot, generation, baud: session.line.baud, transfer_ms: performance.now() - this.begun_ms };
    }
    if (this.mark !== undefined && !identity.in_loader) return identity;
    if (this.mark !== undefined && this.restarts >= RESTARTS) throw notStarted(identity);
    if (!identity.in_loader) {
      const begun = await beginDesk(session, 'the new image starts');
      if (begun !== undefined) onDesk?.(begun.words);
      this.progress('wait-for-loader');
      this.restarting = true;
      await enterLoader(session, wait);
      this.restarting = false;
    }
    this.mark ??= await this.transfer(session);
    this.progress('restart');
    session.unwatch();
    this.restarting = true;
    return restartBox(session, BAUD_AT_START, wait);
  }

  /** Sends the image and has it verified and marked. */
  private async transfer(session: Session): Promise<Mark> {
    const { image, signal } = this.options;
    const wanted = this.silences < SILENCES_AT_SPEED ? this.options.baud : BAUD_AT_START;
    const baud = wanted === BAUD_AT_START ? wanted : await agreeSpeed(session, wanted, BAUD_AT_START);
    session.watch();
    const from = await beginUpload(session, image);
    this.sent = from;
    this.begun_ms = performance.now();
    await sendBody(session, image, from, (received) => {
      this.sent = received;
      this.progress('send', from);
      if (!signal?.aborted) return;
      const what = 'stopped; the box still starts the image that it had';
      throw new StandoffError('flash-stopped', what, 'run it again to go on');
    });
    this.progress('write');
    this.finishing = true;
    const mark = await finishUpload(session);
    return { ...mark, transfer_ms: performance.now() - this.begun_ms, baud };
  }

  private progress(phase: FlashProgress['phase'], from = this.sent): void {
    const { onProgress, image } = this.options;
    const { length } = image.body;
    const came = this.sent - from;
    const bytes_per_s = came === 0 ? 0 : (1000 * came) / Math.max(1, performance.now() - this.begun_ms);
    const left_s = came === 0 ? 0 : (length - this.sent) / bytes_per_s;
    onProgress?.({ phase, sent: this.sent, length, bytes_per_s, left_s });
  }
}

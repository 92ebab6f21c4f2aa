import { BAUD_AT_START } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import { agreeSpeed, type Identity, speedOn } from './client.js';
import { beginDesk } from './desk.js';
import type { Image } from './image.js';
import type { Line } from './line.js';
import {
  awaitIdentity,
  beginUpload,
  enterLoader,
  finishUpload,
  isBroken,
  type LoaderWait,
  notStarted,
  openAgain,
  PORT_AGAIN_MS,
  pause,
  RESTARTS,
  restartBox,
  sendBody,
} from './loader-session.js';
import { Session } from './session.js';
import { compareSlot, readSlot, readSlots, runsImage, type Slot } from './slots.js';

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
  readonly onNoAnswer?: (what: string) => void;
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
  /** Time from the first byte since the link was last resumed to the mark, ms, and the speed of the line; USB has none. */
  readonly transfer_ms: number;
  readonly baud: number | undefined;
  /** False: the box had the image already, whole, and nothing was written. */
  readonly written: boolean;
  /** The SHA-256 that the box computed of what its flash chip holds is that of the image; false: its loader is too old to tell. */
  readonly compared: boolean;
  /** What the slot holds that runs after the restart; undefined: what runs is too old to tell, or the key is on. */
  readonly running: Slot | undefined;
}

type Mark = Pick<FlashResult, 'slot' | 'generation' | 'transfer_ms' | 'baud' | 'written' | 'compared'>;

const WAIT_MS = 20_000;
const RECONNECTS = 20;
const BACK_OFF_MS = 200;
const BACK_OFF_MOST_MS = 2000;
/** A line that has fallen silent this often cannot hold its speed. */
const SILENCES_AT_SPEED = 2;

/**
 * Brings an image into the box: enters the loader, sends the image, has it verified and marked, restarts the box and asks
 * who it is. A broken link is resumed where it broke, a box that has started again in the middle from the beginning. Where the
 * box runs the image already nothing is written.
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
        const running = (await readSlots(this.session!))?.find(({ runs }) => runs);
        return { ...this.mark!, after, running, reconnects: this.reconnects };
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
      const slower = this.session?.line.of_the_box ? '' : ', use a lower --baud';
      const remedy = `check cable and plug${slower}; the box still has an image that starts`;
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
      const transfer_ms = performance.now() - this.begun_ms;
      this.mark ??= {
        slot,
        generation,
        baud: speedOn(session.line, session.line.baud),
        transfer_ms,
        written: true,
        compared: false,
      };
    }
    if (this.mark !== undefined && !identity.in_loader) return identity;
    if (!identity.in_loader && (await this.hasItAlready(session, identity))) return identity;
    if (this.mark !== undefined && this.restarts >= RESTARTS) throw notStarted(identity);
    if (!identity.in_loader) {
      const begun = await beginDesk(session, 'the new image starts');
      if (begun !== undefined) onDesk?.(begun.words);
      this.progress('wait-for-loader');
      this.restarting = true;
      await enterLoader(session, wait);
      this.restarting = false;
    }
    this.mark ??= await this.transfer(session, identity);
    this.progress('restart');
    session.unwatch();
    this.restarting = true;
    return restartBox(session, BAUD_AT_START, wait);
  }

  /** The box runs this image, and has found it whole: nothing is to be done, and the box is not restarted. */
  private async hasItAlready(session: Session, { slot, image_sha256 }: Identity): Promise<boolean> {
    const { image } = this.options;
    if (image_sha256 !== image.image_sha256) return false;
    const holds = await readSlot(session, slot);
    if (holds === undefined || !runsImage(holds, image)) return false;
    const { generation } = holds;
    this.mark = {
      slot,
      generation,
      baud: speedOn(session.line, session.line.baud),
      transfer_ms: 0,
      written: false,
      compared: true,
    };
    return true;
  }

  /** Sends the image, has it verified and marked, and compares what the loader has computed of it. */
  private async transfer(session: Session, before: Identity): Promise<Mark> {
    const { image, signal } = this.options;
    const wanted = this.silences < SILENCES_AT_SPEED ? this.options.baud : BAUD_AT_START;
    const baud = wanted === BAUD_AT_START ? wanted : await agreeSpeed(session, wanted, BAUD_AT_START);
    session.watch();
    const { slot, received: from } = await beginUpload(session, image);
    // Any other image goes into the other slot.
    const written = slot !== before.slot;
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
    const transfer_ms = performance.now() - this.begun_ms;
    const holds = await readSlot(session, mark.slot);
    if (holds !== undefined) compareSlot(holds, image);
    return { ...mark, transfer_ms, baud: speedOn(session.line, baud), written, compared: holds !== undefined };
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

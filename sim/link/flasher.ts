import { BAUD_AT_START } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import type { Identity } from './client.js';
import type { Image } from './image.js';
import type { Line } from './line.js';
import { awaitIdentity, enterLoader, isBroken, type LoaderWait, pause, restartBox } from './loader-session.js';
import { Session } from './session.js';
import { agreeSpeed } from './speed.js';
import { beginUpload, finishUpload, sendBody } from './upload.js';

/** What is being done, for a progress bar. */
export interface FlashProgress {
  readonly phase: 'ask' | 'wait-for-loader' | 'send' | 'write' | 'restart' | 'reconnect';
  /** Bytes of the body that the box has, and all of them. */
  readonly sent: number;
  readonly length: number;
  /** While sending, since the link was last taken up: rate, and time left at this rate; 0 as long as nothing has come. */
  readonly bytes_per_s: number;
  readonly left_s: number;
}

/** What is flashed over which line, and who is told. */
export interface FlashOptions {
  /** Opens the line; called again after a broken link. */
  readonly open: () => Promise<Line>;
  readonly image: Image;
  /** Speed wanted while the image is sent, bit/s. */
  readonly baud: number;
  readonly onProgress?: (progress: FlashProgress) => void;
  /** Told what is in the box before anything is written. */
  readonly onBefore?: (identity: Identity) => void;
  /** Told when nobody answers: a person may switch the box off and on, or press its reset, while it is being asked. */
  readonly onNoAnswer?: () => void;
  /** Longest wait for the loader, and for the box after the restart, ms. */
  readonly wait_ms?: number;
  /** Broken links that are survived. */
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
  /** Time from the first byte of the image to its mark since the link was last taken up, ms, and the speed of the line. */
  readonly transfer_ms: number;
  readonly baud: number;
}

type Mark = Pick<FlashResult, 'slot' | 'generation' | 'transfer_ms' | 'baud'>;

const WAIT_MS = 20_000;
const RECONNECTS = 20;
const BACK_OFF_MS = 200;
const BACK_OFF_MOST_MS = 2000;
/** A line that has fallen silent so often while it was open does not bear its speed. */
const SILENCES_AT_SPEED = 2;

/**
 * Brings an image into the box: into the loader, the image across, verified and marked there, restarted, asked who it is.
 * A link that breaks is resumed where it broke.
 * @throws StandoffError with the box's reason; `flash-…`; `port-…` when the port cannot be opened at the start
 */
export function flash(options: FlashOptions): Promise<FlashResult> {
  return new Flasher(options).run();
}

class Flasher {
  /** The box has said who it is. */
  private known = false;
  /** The loader has been asked to verify and mark: after a broken link the image may be there. */
  private finishing = false;
  private mark: Mark | undefined;
  private reconnects = 0;
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
      this.progress('reconnect');
      await pause(Math.min(BACK_OFF_MOST_MS, BACK_OFF_MS * this.reconnects));
    }
  }

  /** Counts a broken link. @throws what cannot be resumed */
  private async mayGoOn(error: unknown): Promise<void> {
    const { signal, reconnects = RECONNECTS } = this.options;
    // Before the box has said who it is, a silent port is a wrong port, not a broken link.
    if (!isBroken(error) || !this.known || signal?.aborted) throw error;
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
    const { open, image, onBefore, onNoAnswer, signal, wait_ms = WAIT_MS } = this.options;
    const wait: LoaderWait = { wait_ms, ...(onNoAnswer && { onNoAnswer }), ...(signal && { signal }) };
    this.progress('ask');
    const session = new Session(await open());
    this.session = session;
    const identity = await awaitIdentity(session, wait, () => true);
    if (!this.known) onBefore?.(identity);
    this.known = true;
    // The link may have broken between the mark and its answer.
    if (this.finishing && identity.image_sha256 === image.image_sha256) {
      const { slot, generation } = identity;
      this.mark ??= { slot, generation, baud: session.line.baud, transfer_ms: performance.now() - this.begun_ms };
    }
    if (this.mark !== undefined && !identity.in_loader) return identity;
    if (!identity.in_loader) {
      this.progress('wait-for-loader');
      await enterLoader(session, wait);
    }
    this.mark ??= await this.transfer(session);
    this.progress('restart');
    session.unwatch();
    return restartBox(session, BAUD_AT_START, wait);
  }

  /** The image across, verified and marked. */
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

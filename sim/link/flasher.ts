import { BAUD_AT_START, PAYLOAD_MOST, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import { agreeSpeed, type Identity, readIdentity } from './client.js';
import type { Image } from './image.js';
import { encodeLayout, layoutBytes } from './layout.js';
import type { Line } from './line.js';
import { refusalOf } from './remedies.js';
import { type Answer, Session } from './session.js';

/** What is being done, for a progress bar. */
export interface FlashProgress {
  readonly phase: 'ask' | 'wait-for-loader' | 'send' | 'write' | 'restart' | 'reconnect';
  /** Bytes of the body that the box has, and all of them. */
  readonly sent: number;
  readonly length: number;
}

export interface FlashOptions {
  /** Opens the line; called again after a broken link. */
  readonly open: () => Promise<Line>;
  readonly image: Image;
  /** Speed wanted while the image is sent, bit/s. */
  readonly baud: number;
  readonly onProgress?: (progress: FlashProgress) => void;
  /** Told what is in the box before anything is written. */
  readonly onBefore?: (identity: Identity) => void;
  /** Longest wait for the loader, and for the box after the restart, ms. */
  readonly wait_ms?: number;
  /** Broken links that are survived. */
  readonly reconnects?: number;
  readonly signal?: AbortSignal;
}

export interface FlashResult {
  /** What answers after the restart. */
  readonly after: Identity;
  readonly slot: number;
  readonly generation: number;
  readonly reconnects: number;
  /** Time from the first byte of the image to its mark, ms, and the speed of the line. */
  readonly transfer_ms: number;
  readonly baud: number;
}

/** Bytes of the image in a frame, and frames under way: enough to keep the line full while the box answers. */
const CHUNK = 256;
const WINDOW = 8;
const WAIT_MS = 20_000;
const ASK_AGAIN_MS = 100;
const STATUS = new Map(STATUS_ROWS.map((row) => [row.name, row.code]));
if (CHUNK + layoutBytes('update_bytes') > PAYLOAD_MOST) throw new Error('a chunk does not fit in a frame');

/**
 * Brings an image into the box: into the loader, the image across, verified and marked there, restarted, asked who it is.
 * A link that breaks is taken up again where it broke.
 * @throws StandoffError with the box's reason; `flash-no-loader`, `flash-broken`
 */
export async function flash(options: FlashOptions): Promise<FlashResult> {
  let told = false;
  let reconnects = 0;
  for (;;) {
    let session: Session | undefined;
    try {
      session = await connect(options, (identity) => {
        if (!told) options.onBefore?.(identity);
        told = true;
      });
      return { ...(await transfer(session, options)), reconnects };
    } catch (error) {
      const broken = error instanceof StandoffError && BROKEN.includes(error.code) && !options.signal?.aborted;
      // Before the box has said what it is, a silent port is a wrong port, not a broken link.
      if (!broken || !told) throw error;
      if (reconnects >= (options.reconnects ?? 20)) {
        const what = `the link broke ${reconnects + 1} times`;
        throw new StandoffError(
          'flash-broken',
          what,
          'check cable and plug, use a lower --baud; the box still starts its old image',
        );
      }
      reconnects++;
      options.onProgress?.({ phase: 'reconnect', sent: 0, length: options.image.body.length });
      await pause(Math.min(2000, 200 * reconnects));
    } finally {
      await session?.close();
    }
  }
}

const BROKEN = ['link-lost', 'link-silent', 'port-missing', 'port-failed', 'port-closed', 'flash-no-loader'];
const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

/** A session with the loader. */
async function connect(options: FlashOptions, onBefore: (identity: Identity) => void): Promise<Session> {
  const { onProgress, image } = options;
  const progress = (phase: FlashProgress['phase']) => onProgress?.({ phase, sent: 0, length: image.body.length });
  progress('ask');
  const session = new Session(await options.open());
  try {
    const before = await awaitIdentity(session, options, () => true);
    onBefore(before);
    if (before.in_loader) return session;
    await session.ask('loader-enter');
    progress('wait-for-loader');
    await awaitIdentity(session, options, (identity) => identity.in_loader);
    return session;
  } catch (error) {
    await session.close();
    throw error;
  }
}

/** Asks until somebody answers that will do: the box is starting, or a person is about to switch it on. */
async function awaitIdentity(
  session: Session,
  options: FlashOptions,
  wanted: (identity: Identity) => boolean,
): Promise<Identity> {
  const end_ms = Date.now() + (options.wait_ms ?? WAIT_MS);
  for (;;) {
    if (options.signal?.aborted)
      throw new StandoffError('flash-stopped', 'stopped before anything was written', 'run it again');
    try {
      const identity = await readIdentity(session);
      if (wanted(identity)) return identity;
    } catch (error) {
      if (!(error instanceof StandoffError) || error.code !== 'link-silent') throw error;
    }
    if (Date.now() > end_ms) {
      const what = `the loader does not answer on ${session.line.address}`;
      throw new StandoffError(
        'flash-no-loader',
        what,
        'switch the box off and on, or press its reset, while flash is waiting',
      );
    }
    await pause(ASK_AGAIN_MS);
  }
}

async function transfer(session: Session, options: FlashOptions): Promise<Omit<FlashResult, 'reconnects'>> {
  const { image, onProgress } = options;
  const { length } = image.body;
  const baud = options.baud === BAUD_AT_START ? options.baud : await agreeSpeed(session, options.baud, BAUD_AT_START);
  session.watch();
  const begun = await session.ask('update-begin', image.head);
  const start_ms = Date.now();
  let acknowledged = begun.values.received as number;
  await sendAll(session, image, acknowledged, (received) => {
    acknowledged = Math.max(acknowledged, received);
    onProgress?.({ phase: 'send', sent: acknowledged, length });
    if (options.signal?.aborted)
      throw new StandoffError('flash-stopped', 'stopped; the box still starts its old image', 'run it again to go on');
  });
  onProgress?.({ phase: 'write', sent: length, length });
  const done = await finish(session);
  const transfer_ms = Date.now() - start_ms;
  onProgress?.({ phase: 'restart', sent: length, length });
  await session.ask('restart');
  await session.line.setSpeed(BAUD_AT_START);
  const after = await awaitIdentity(session, options, (identity) => !identity.in_loader);
  const { slot, generation } = done.values as { slot: number; generation: number };
  return { after, slot, generation, transfer_ms, baud };
}

/** Sends the body from a place on, several frames under way. */
async function sendAll(
  session: Session,
  { body }: Image,
  from: number,
  onReceived: (received: number) => void,
): Promise<void> {
  let next = from;
  const serve = async () => {
    while (next < body.length) {
      const offset = next;
      next += CHUNK;
      const bytes = body.subarray(offset, offset + CHUNK);
      const records = Array.from(bytes, (byte) => ({ byte }));
      const answer = await sendOne(session, offset, records);
      onReceived(answer.values.received as number);
    }
  };
  await Promise.all(Array.from({ length: WINDOW }, serve));
}

/** A frame that overtook a lost one is refused for its place; it is sent again until the lost one has come. */
async function sendOne(
  session: Session,
  offset: number,
  records: readonly { readonly byte: number }[],
): Promise<Answer> {
  for (let tries = 0; ; tries++) {
    const answer = await session.askAnyway('update-write', { offset }, records);
    if (answer.status === 0) return answer;
    if (answer.status !== STATUS.get('place') || tries >= PLACE_TRIES) throw refusalOf('update-write', answer.status);
    await pause(PLACE_AGAIN_MS);
  }
}

const PLACE_TRIES = 100;
const PLACE_AGAIN_MS = 20;

/** The box answers busy for as long as it is writing. */
async function finish(session: Session): Promise<Answer> {
  for (let waited_ms = 0; ; waited_ms += ASK_AGAIN_MS) {
    const answer = await session.askAnyway('update-finish');
    if (answer.status === 0) return answer;
    if (answer.status !== STATUS.get('busy') || waited_ms > WAIT_MS) throw refusalOf('update-finish', answer.status);
    await pause(FINISH_AGAIN_MS);
  }
}

const FINISH_AGAIN_MS = 10;

/** Bytes of the file of an image: what readImage reads. */
export function imageFile({ head, body }: Pick<Image, 'head' | 'body'>): Uint8Array {
  return Buffer.concat([encodeLayout('image_head', head), body]);
}

// Its own file beside the flasher: how the loader is given an image, once somebody has brought the box into it.
import { PAYLOAD_MOST, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import type { Image } from './image.js';
import { layoutBytes } from './layout.js';
import { pause } from './loader-session.js';
import { type Answer, refusalOf, type Session } from './session.js';

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

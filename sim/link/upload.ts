import { PAYLOAD_MOST, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import type { Image } from './image.js';
import { layoutBytes } from './layout.js';
import { pause } from './loader-session.js';
import { pipeline } from './pipeline.js';
import { refusalOf } from './remedies.js';
import type { Answer, Session } from './session.js';

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
if (CHUNK + layoutBytes('update_bytes') > PAYLOAD_MOST) throw new Error('a chunk does not fit in a frame');

/** Announces the image. @returns bytes of it that the loader has already */
export async function beginUpload(session: Session, { head }: Image): Promise<number> {
  const { values } = await askWhileBusy(session, 'update-begin', head);
  return values.received as number;
}

/**
 * Sends the body from a place on, several frames under way.
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
  /** Places that are being sent again. */
  const repairs = new Map<number, Promise<void>>();
  const take = ({ values }: Answer) => {
    received = Math.max(received, values.received as number);
    onReceived(received);
  };
  const send = async (offset: number): Promise<void> => {
    for (let tries = 1; ; tries++) {
      const answer = await session.askAnyway('update-write', { offset }, body.subarray(offset, offset + CHUNK));
      if (answer.status === 0) return take(answer);
      if (answer.status !== PLACE || tries >= PLACE_TRIES) throw refusalOf('update-write', answer.status);
      // A frame before this one was lost. It is sent again at once, not only when its answer has not come for long.
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

/** The loader answers busy for as long as the flash chip is at work. */
async function askWhileBusy(session: Session, service: string, values = {}): Promise<Answer> {
  const begun_ms = performance.now();
  for (;;) {
    const answer = await session.askAnyway(service, values);
    if (answer.status === 0) return answer;
    if (answer.status !== BUSY) throw refusalOf(service, answer.status);
    if (performance.now() - begun_ms > BUSY_MOST_MS) {
      const what = `the loader has been busy with ${service} for ${BUSY_MOST_MS / 1000} s`;
      throw new StandoffError('flash-busy', what, 'switch the box off and on, and flash again');
    }
    await pause(BUSY_AGAIN_MS);
  }
}

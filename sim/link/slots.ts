import { ORIGIN_ROWS, SLOT_ROWS, STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import type { Image } from './image.js';
import { pause } from './loader-session.js';
import { refusalOf, type Session } from './session.js';

/** What a slot of the box holds. Hashes in lower-case hex. */
export interface Slot {
  readonly slot: number;
  /** Name of the row in SLOT_ROWS. */
  readonly holds: string;
  /** It runs, or would be started. */
  readonly runs: boolean;
  /** Where the parameters of the running image come from: name of the row in ORIGIN_ROWS; of the box and the slot that runs. */
  readonly origin: string;
  readonly generation: number;
  readonly version: string;
  readonly module_sha256: string;
  /** Of the body: as the head says, and as the box has computed it from what its flash chip holds. */
  readonly image_sha256: string;
  readonly body_sha256: string;
}

const BUSY_AGAIN_MS = 10;
/** Longest that the chip may keep the loader busy with one operation, ms. */
const BUSY_MOST_MS = 5000;
const SLOTS = 2;

const hex = (bytes: unknown): string => Buffer.from(bytes as Uint8Array).toString('hex');

/**
 * What a slot holds; the box computes the SHA-256 of its body.
 * @returns undefined when box or loader is older than the service
 * @throws StandoffError `box-key`, `box-busy`, `link-…`
 */
export async function readSlot(session: Session, slot: number): Promise<Slot | undefined> {
  const begun_ms = performance.now();
  for (;;) {
    const { status, values } = await session.askAnyway('slot', { slot });
    const name = STATUS_ROWS[status]?.name;
    if (name === 'unknown') return undefined;
    if (name === 'busy' && performance.now() - begun_ms < BUSY_MOST_MS) {
      await pause(BUSY_AGAIN_MS);
      continue;
    }
    if (status !== 0) throw refusalOf('slot', status);
    const { generation, version } = values as unknown as Slot;
    return {
      ...{ slot, generation, version },
      holds: SLOT_ROWS[values.holds as number]?.name ?? `state ${values.holds}`,
      runs: values.runs === 1,
      origin: ORIGIN_ROWS[values.origin as number]?.name ?? `origin ${values.origin}`,
      module_sha256: hex(values.module_sha256),
      image_sha256: hex(values.image_sha256),
      body_sha256: hex(values.body_sha256),
    };
  }
}

/**
 * What both slots hold.
 * @returns undefined when the box is older than the service, or its key is on
 * @throws StandoffError `link-…`
 */
export async function readSlots(session: Session): Promise<readonly Slot[] | undefined> {
  try {
    const slots: Slot[] = [];
    for (let number = 0; number < SLOTS; number++) {
      const slot = await readSlot(session, number);
      if (slot === undefined) return undefined;
      slots.push(slot);
    }
    return slots;
  } catch (error) {
    if (error instanceof StandoffError && error.code === 'box-key') return undefined;
    throw error;
  }
}

/** Whether the slot holds this image, whole by the SHA-256 of what the chip holds, and runs it. */
export const runsImage = (slot: Slot, image: Image): boolean =>
  slot.runs &&
  ['valid', 'trial'].includes(slot.holds) &&
  slot.body_sha256 === image.image_sha256 &&
  slot.module_sha256 === image.module_sha256 &&
  slot.version === image.version;

/** @throws StandoffError `flash-hash` when the slot does not hold the image */
export function compareSlot({ slot, body_sha256 }: Slot, { image_sha256 }: Image): void {
  if (body_sha256 === image_sha256) return;
  const what = `slot ${slot} of the box holds something else than was sent: SHA-256 ${body_sha256}, of the image ${image_sha256}`;
  throw new StandoffError('flash-hash', what, 'flash again; if it happens again, the flash chip is worn or damaged');
}

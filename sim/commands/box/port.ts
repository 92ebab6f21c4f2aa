import { InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { BAUD_AT_START } from '../../../firmware/wire/link-rows.js';
import { StandoffError } from '../../base/index.js';
import { type Identity, openLine, readIdentity, Session, type SessionTimes } from '../../link/index.js';
import { restartBox } from '../../link/loader-session.js';
import { loadControlModule } from '../../run/controller/index.js';

export const PORT_WORDS = 'serial port such as /dev/ttyUSB0 or COM3, or tcp://host:port';

/** `--port`, the same in every command that talks to a box. */
export const portOption = () => new Option('--port <address>', PORT_WORDS).makeOptionMandatory();

/** Speed that the adapters of today reach and at which every tick's telemetry fits. */
export const DEFAULT_BAUD = 921_600;
const LEAST_BAUD = 9600;
const MOST_BAUD = 2_000_000;

function baudOf(text: string): number {
  const baud = Number(text);
  if (/^\d+$/.test(text) && baud >= LEAST_BAUD && baud <= MOST_BAUD) return baud;
  throw new InvalidArgumentError(`Give a whole number from ${LEAST_BAUD} to ${MOST_BAUD}.`);
}

/** `--baud`: what is tried; the box and the adapter must both take it. */
export const baudOption = () =>
  new Option('--baud <n>', 'speed of the line to try, bit/s').argParser(baudOf).default(DEFAULT_BAUD);

/** SHA-256 of the control module on the desk. */
export const deskModule = (): string => loadControlModule().sha256;

/**
 * Opens a port, finds out who is there, does something with it, and closes it again.
 * @throws StandoffError `port-…`, `link-…`, `box-…`
 */
export async function withBox<T>(
  address: string,
  work: (session: Session, identity: Identity) => Promise<T>,
  times?: SessionTimes,
): Promise<T> {
  const session = new Session(await openLine(address), times);
  try {
    return await work(session, await readIdentity(session));
  } finally {
    await session.close();
  }
}

/** How long a box is waited for that is told to go on, ms. */
const START_MS = 5000;
const NO_SLOT = 255;

/** Whether the loader has an image that it may start. */
export const hasImage = ({ slot, boot }: Identity): boolean => slot !== NO_SLOT && boot !== 'image-fails';

/**
 * A box that is asked who it is while it starts stays in its loader for a while: it is told to go on.
 * @returns what answers then; a loader that has nothing to start stays as it is
 */
export async function leaveLoader(session: Session, identity: Identity): Promise<Identity> {
  if (!identity.in_loader || !hasImage(identity)) return identity;
  return restartBox(session, BAUD_AT_START, { wait_ms: START_MS });
}

/** @throws StandoffError `box-in-loader`: the loader knows neither parameters nor telemetry */
export function refuseLoader(identity: Identity): void {
  if (!identity.in_loader) return;
  const what = `the loader answers, not the box: ${hasImage(identity) ? 'it has not started' : 'it has no image that starts'}`;
  throw new StandoffError('box-in-loader', what, 'bring an image into the box: standoff flash');
}

import { setTimeout as pause } from 'node:timers/promises';
import { StandoffError } from '../../base/index.js';
import {
  type Identity,
  IN_USE,
  isBroken,
  type Line,
  leaveLoader,
  listPorts,
  openLine,
  type PortList,
  withBox,
} from '../../link/index.js';

/** A box that answered. */
export interface FoundBox {
  /** What finds it again: its serial number, else the port as it was named. */
  readonly address: string;
  readonly identity: Identity;
}

/** What to look for, and who is told. */
export interface FindOptions {
  /** A port that somebody named; without it the own ports of boxes are looked for, and no other port is opened. */
  readonly address?: string | undefined;
  readonly signal: AbortSignal;
  /** Told what stands in the way, each sentence once. */
  readonly tell: (sentence: string) => void;
  readonly list?: () => Promise<PortList>;
  readonly open?: (address: string) => Promise<Line>;
}

const LOOK_ms = 500;
/** What no waiting mends. */
const HOPELESS = ['port-address', 'port-none'];
/** A port that is there, and silent, is worth a word; one that is not there yet, or has just gone with a start of its box, is not. */
const isAway = (error: StandoffError): boolean => isBroken(error) && error.code !== 'link-silent';

/**
 * Looks until one box answers, and starts its image if its loader does.
 * @returns undefined when the signal came first
 * @throws StandoffError `port-address`: more than one box is plugged in, or what was named is no port
 */
export async function findBox(options: FindOptions): Promise<FoundBox | undefined> {
  const { address, signal, tell, list = listPorts, open = openLine } = options;
  const told = new Set<string>();
  const tellOnce = (sentence: string) => {
    if (!told.has(sentence)) tell(sentence);
    told.add(sentence);
  };
  while (!signal.aborted) {
    const candidate = address ?? (await ownPort(list, tellOnce));
    if (candidate !== undefined) {
      try {
        const identity = await withBox(candidate, leaveLoader, undefined, undefined, open);
        return { address: candidate, identity };
      } catch (error) {
        if (!(error instanceof StandoffError) || HOPELESS.includes(error.code) || error.what.includes(IN_USE))
          throw error;
        if (!isAway(error)) tellOnce(`${error.what}: ${error.remedy}`);
      }
    }
    await pause(LOOK_ms);
  }
  return undefined;
}

/** The serial number of the only box that is plugged in. */
async function ownPort(
  list: () => Promise<PortList>,
  tellOnce: (sentence: string) => void,
): Promise<string | undefined> {
  const { serials, note } = await list();
  const boxes = Object.values(serials);
  if (note !== '') tellOnce(`${note}`);
  if (boxes.length <= 1) return boxes[0];
  const what = `${boxes.length} boxes are plugged in: ${boxes.join(', ')}`;
  throw new StandoffError('port-address', what, `name one of them: --port ${boxes[0]}`);
}

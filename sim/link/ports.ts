import { readdirSync } from 'node:fs';
import { StandoffError } from '../base/index.js';
import type { Identity } from './client.js';
import { type SystemPort, systemPorts } from './line.js';
import { pause, withBox } from './loader-session.js';
import type { SessionTimes } from './session.js';

/** Long enough for a box to fall back to BAUD_AT_START; all ports are asked at once. */
const ASK_TIMES: SessionTimes = { answer_ms: 150, tries: 5, ping_ms: 1000, lost_ms: 5000 };
/** A port whose driver hangs is given up after this long. */
const LONGEST_MS = 6000;
/** Names of USB adapters, for a system that gives no list. */
const ADAPTERS = /^(?:ttyUSB|ttyACM|cu\.usb)/;

/** The result of asking one port. */
export interface AskedPort {
  readonly address: string;
  /** Of a box whose own port it is. */
  readonly serial?: string;
  readonly identity?: Identity;
  /** Why there is no answer. */
  readonly reason?: string;
  readonly remedy?: string;
}

/** Serial ports of this computer. */
export interface PortList {
  readonly addresses: readonly string[];
  /** Serial numbers of the boxes whose own ports are among them, by address. */
  readonly serials: Readonly<Record<string, string>>;
  /** A remark about the list; may be empty. */
  readonly note: string;
}

/** The serial ports that the system names. On Linux the package asks udevadm; without it the names in /dev tell. */
export async function listPorts(devices = '/dev'): Promise<PortList> {
  try {
    const found = await systemPorts();
    const own = found.filter(({ serial }) => serial !== '');
    const serials = Object.fromEntries(own.map(({ path, serial }) => [path, serial]));
    return { addresses: found.map(({ path }) => path), serials, note: '' };
  } catch (error) {
    const names = readdirSync(devices).filter((name) => ADAPTERS.test(name));
    const missing = (error as NodeJS.ErrnoException).code === 'ENOENT';
    const why = missing ? 'udevadm is not installed' : `the list of ports failed (${(error as Error).message})`;
    return {
      addresses: names.map((name) => `${devices}/${name}`).sort(),
      serials: {},
      note: `${why}: only USB adapters were looked for, by name; give another port with --port.`,
    };
  }
}

/** Asks one port who is there. It never throws for a port: what goes wrong with it is the result. */
export async function askPort(address: string): Promise<AskedPort> {
  let timer: NodeJS.Timeout | undefined;
  const given_up = new Promise<AskedPort>((resolve) => {
    timer = setTimeout(() => resolve({ address, reason: `nothing within ${LONGEST_MS / 1000} s` }), LONGEST_MS);
  });
  const asking = withBox(address, async (_, identity): Promise<AskedPort> => ({ address, identity }), ASK_TIMES);
  try {
    return await Promise.race([asking, given_up]);
  } catch (error) {
    if (!(error instanceof StandoffError)) throw error;
    if (error.code === 'link-silent' && error.what.startsWith(`${address} is silent`))
      return { address, reason: 'no answer' };
    return { address, reason: error.what, remedy: error.remedy };
  } finally {
    clearTimeout(timer);
  }
}

/** Ports that came, and ports that went, since the last look. */
export interface PortChange {
  readonly came: readonly SystemPort[];
  readonly gone: readonly SystemPort[];
}

/** How often the system's list is looked at: nothing tells of a plug. */
const LOOK_MS = 500;

/** The ports of a list with their serial numbers. */
const portsOf = ({ addresses, serials }: PortList): SystemPort[] =>
  addresses.map((path) => ({ path, serial: serials[path] ?? '' }));

/**
 * Looks at the list of ports until the signal says stop. A port that went and came between two looks is not seen.
 * @param known what was seen last
 * @param list the system's list; one that fails counts as unchanged
 */
export async function* watchPorts(
  signal: AbortSignal,
  known: PortList,
  list: () => Promise<PortList> = listPorts,
): AsyncGenerator<PortChange> {
  let before = portsOf(known);
  const key = ({ path, serial }: SystemPort): string => `${path} ${serial}`;
  const without = (some: readonly SystemPort[], others: readonly SystemPort[]) => {
    const keys = new Set(others.map(key));
    return some.filter((port) => !keys.has(key(port)));
  };
  while (!signal.aborted) {
    await pause(LOOK_MS);
    const now = await list().then(portsOf, () => before);
    const change = { came: without(now, before), gone: without(before, now) };
    before = now;
    if (!signal.aborted && change.came.length + change.gone.length > 0) yield change;
  }
}

import { readdirSync } from 'node:fs';
import { StandoffError } from '../base/index.js';
import type { Identity } from './client.js';
import { withBox } from './loader-session.js';
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
  readonly identity?: Identity;
  /** Why there is no answer. */
  readonly reason?: string;
  readonly remedy?: string;
}

/** Serial ports of this computer. */
export interface PortList {
  readonly addresses: readonly string[];
  /** A remark about the list; may be empty. */
  readonly note: string;
}

/** The serial ports that the system names. On Linux the package asks udevadm; without it the names in /dev tell. */
export async function listPorts(devices = '/dev'): Promise<PortList> {
  const { SerialPort } = await import('serialport');
  try {
    const found = await SerialPort.list();
    return { addresses: found.map(({ path }) => path).sort(), note: '' };
  } catch (error) {
    const names = readdirSync(devices).filter((name) => ADAPTERS.test(name));
    const missing = (error as NodeJS.ErrnoException).code === 'ENOENT';
    const why = missing ? 'udevadm is not installed' : `the list of ports failed (${(error as Error).message})`;
    return {
      addresses: names.map((name) => `${devices}/${name}`).sort(),
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
    if (error.code === 'link-silent') return { address, reason: 'no answer' };
    return { address, reason: error.what, remedy: error.remedy };
  } finally {
    clearTimeout(timer);
  }
}

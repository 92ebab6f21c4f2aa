import { readdirSync } from 'node:fs';
import { Command, Option } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import type { Identity, SessionTimes } from '../../link/index.js';
import { terminalStyle } from '../../views/terminal/index.js';
import { asciiText, wrapText } from '../../views/terminal/text.js';
import { collect } from '../base/command-line.js';
import { EXIT } from '../base/exit.js';
import { identityLine } from './identity-text.js';
import { deskModule, hasImage, PORT_WORDS, withBox } from './port.js';

/** Long enough for a box that has yet to fall back to the speed of a start; all ports are asked at once. */
const ASK_TIMES: SessionTimes = { answer_ms: 150, tries: 5, ping_ms: 1000, lost_ms: 5000 };
/** A port whose driver hangs is given up after this. */
const LONGEST_MS = 6000;
/** Names of USB adapters, where nobody can be asked for a list. */
const ADAPTERS = /^(?:ttyUSB|ttyACM|cu\.usb)/;

/** What came of asking one port. */
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
  /** What is worth knowing about the list; empty for nothing. */
  readonly note: string;
}

export const portsCommand = () =>
  new Command('ports')
    .summary('list serial ports and say which of them has a box')
    .description(
      'Opens every serial port of this computer and asks who is there. Opening a port can restart what is attached ' +
        'to it: not while a machine is at work.',
    )
    .addOption(new Option('--port <address>', `ask only this: ${PORT_WORDS}; may be repeated`).argParser(collect))
    .option('--no-open', 'list the ports and open none')
    .option('--json', 'print the list as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour');

export type PortsOptions = ReturnType<ReturnType<typeof portsCommand>['opts']>;

/** Lists ports with what answered. @returns the exit status */
export async function ports(options: PortsOptions): Promise<number> {
  const given = options.port as readonly string[] | undefined;
  const { addresses, note } = given ? { addresses: given, note: '' } : await listPorts();
  const asked = options.open
    ? await Promise.all(addresses.map((address) => askPort(address)))
    : addresses.map((address): AskedPort => ({ address }));
  const desk_sha256 = deskModule();
  if (options.json) process.stdout.write(`${JSON.stringify(portsJson(asked, desk_sha256), undefined, 2)}\n`);
  else {
    const { unicode, columns } = terminalStyle(process.env, process.stdout, options.plain);
    const text = `${portsText(asked, note, desk_sha256, columns)}\n`;
    process.stdout.write(unicode ? text : asciiText(text));
  }
  return EXIT.kept;
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
      note: `${why}: only USB adapters were looked for, by their names; another port can be given with --port.`,
    };
  }
}

/** Asks one port who is there; whatever goes wrong is an answer too, and so is a port that never gets open. */
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

/** The list for a person, with what to do next. */
export function portsText(asked: readonly AskedPort[], note: string, desk_sha256: string, columns: number): string {
  const lines: string[] = [];
  const say = (text: string, indent = 0) => lines.push(...wrapText(text, columns, indent));
  const width = Math.max(0, ...asked.map(({ address }) => address.length));
  for (const { address, identity, reason = '' } of asked) {
    const words = identity ? identityLine(identity, desk_sha256) : reason.replace(`${address} `, '');
    const line = `${address.padEnd(width)}  ${words}`.trimEnd();
    if (line.length <= columns) lines.push(line);
    else say(line, 2);
  }
  if (asked.length === 0) {
    say('No serial port was found. Plug the adapter in, or practise with an emulated box: standoff emulate');
  }
  for (const remedy of new Set(asked.flatMap((port) => port.remedy ?? []))) say(`note: ${remedy}`, 2);
  if (note !== '') say(`note: ${note}`, 2);
  const box = asked.find(({ identity }) => identity !== undefined);
  if (box) {
    const next = box.identity!.in_loader && !hasImage(box.identity!) ? 'flash' : 'box';
    say(`next: standoff ${next} --port ${box.address}`, 2);
  }
  return lines.join('\n');
}

const portsJson = (asked: readonly AskedPort[], desk_sha256: string) => ({
  format: 'standoff ports 1',
  desk_module_sha256: desk_sha256,
  ports: asked.map(({ address, identity, reason }) => ({
    address,
    answers: identity ? (identity.in_loader ? 'loader' : 'box') : null,
    version: identity?.version ?? null,
    module_sha256: identity?.module_sha256 ?? null,
    desk_module: identity ? identity.module_sha256 === desk_sha256 : null,
    reason: reason ?? null,
  })),
});

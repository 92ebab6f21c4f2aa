import { Command, Option } from '@commander-js/extra-typings';
import {
  type AskedPort,
  askPort,
  hasImage,
  identityLine,
  listPorts,
  type PortChange,
  type PortList,
  watchPorts,
} from '../../link/index.js';
import { asciiText, terminalStyle, wrapText } from '../../views/text/index.js';
import { collect, EXIT, withSignals } from '../base/command-line.js';
import { deskModule, PORT_WORDS } from './port.js';

export const portsCommand = () =>
  new Command('ports')
    .description(
      'Opens every serial port of this computer and asks who is there. Opening a port can restart what is attached ' +
        'to it: not while a machine is at work.',
    )
    .addOption(new Option('--port <address>', `ask only this: ${PORT_WORDS}; may be repeated`).argParser(collect))
    .option('--no-open', 'list the ports and open none')
    .addOption(
      new Option('--watch', 'then say which ports come and go, and ask those that come, until Ctrl-C').conflicts([
        'port',
        'json',
      ]),
    )
    .option('--json', 'print the list as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour');

export type PortsOptions = ReturnType<ReturnType<typeof portsCommand>['opts']>;

/** Lists ports and who answered. @returns the exit status */
export async function ports(options: PortsOptions): Promise<number> {
  const given = options.port as readonly string[] | undefined;
  const known = given ? { addresses: given, serials: {}, note: '' } : await listPorts();
  const { addresses, serials, note } = known;
  const asked = await askAll(addresses, serials, options.open);
  const desk_sha256 = deskModule();
  if (options.json) process.stdout.write(`${JSON.stringify(portsJson(asked, desk_sha256), undefined, 2)}\n`);
  else {
    const { unicode, columns } = terminalStyle(process.env, process.stdout, options.plain);
    const say = (text: string) => process.stdout.write(unicode ? `${text}\n` : asciiText(`${text}\n`));
    say(portsText(asked, note, desk_sha256, columns));
    if (options.watch) say('Watching; Ctrl-C ends it.');
    if (options.watch)
      return watch(
        known,
        (came) => askAll(came.addresses, came.serials, options.open),
        (gone, came) => say(changeText(gone, came, desk_sha256, columns)),
      );
  }
  return EXIT.kept;
}

const askAll = (addresses: readonly string[], serials: Readonly<Record<string, string>>, open: boolean) =>
  Promise.all(
    addresses.map(async (address): Promise<AskedPort> => {
      const own = serials[address] === undefined ? {} : { serial: serials[address] };
      return { ...(open ? await askPort(address) : { address }), ...own };
    }),
  );

/** Says what comes and goes, until a signal ends it. */
async function watch(
  known: PortList,
  ask: (came: PortList) => Promise<AskedPort[]>,
  tell: (gone: PortChange['gone'], came: readonly AskedPort[]) => void,
): Promise<number> {
  await withSignals(async (signal) => {
    for await (const { came, gone } of watchPorts(signal, known)) {
      const serials = Object.fromEntries(came.flatMap(({ path, serial }) => (serial === '' ? [] : [[path, serial]])));
      tell(gone, await ask({ addresses: came.map(({ path }) => path), serials, note: '' }));
    }
  });
  return EXIT.interrupted;
}

/** Ports that went, and those that came, for a person. */
export function changeText(
  gone: PortChange['gone'],
  came: readonly AskedPort[],
  desk_sha256: string,
  columns: number,
): string {
  const went = gone.map(({ path, serial }) => `gone: ${path}  ${serial}`.trimEnd());
  return [...went, ...(came.length === 0 ? [] : [portsText(came, '', desk_sha256, columns)])].join('\n');
}

/** The address stands before the reason already. */
const withoutAddress = (reason: string, address: string): string =>
  [`${address}: `, `${address} `].reduce(
    (text, head) => (text.startsWith(head) ? text.slice(head.length) : text),
    reason,
  );

/** The list for a person, with what to do next. */
export function portsText(asked: readonly AskedPort[], note: string, desk_sha256: string, columns: number): string {
  const lines: string[] = [];
  const say = (text: string, indent = 0) => lines.push(...wrapText(text, columns, indent));
  const width = Math.max(0, ...asked.map(({ address }) => address.length));
  for (const { address, serial = '', identity, reason = '' } of asked) {
    const words = identity ? identityLine(identity, desk_sha256) : withoutAddress(reason, address);
    const line = [address.padEnd(width), serial, words]
      .filter((part) => part !== '')
      .join('  ')
      .trimEnd();
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
    say(`next: standoff ${next} --port ${box.serial ?? box.address}`, 2);
  }
  return lines.join('\n');
}

const portsJson = (asked: readonly AskedPort[], desk_sha256: string) => ({
  format: 'standoff ports 1',
  desk_module_sha256: desk_sha256,
  ports: asked.map(({ address, serial, identity, reason }) => ({
    address,
    serial: serial ?? null,
    answers: identity ? (identity.in_loader ? 'loader' : 'box') : null,
    version: identity?.version ?? null,
    module_sha256: identity?.module_sha256 ?? null,
    desk_module: identity ? identity.module_sha256 === desk_sha256 : null,
    reason: reason ?? null,
  })),
});

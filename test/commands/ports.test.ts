import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { delimiter, join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { portsText } from '../../sim/commands/box/ports.js';
import { askPort, type Identity, listPorts, type PortList, watchPorts } from '../../sim/link/index.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { FakeBox } from '../link/fake-box.js';
import { slotOf } from '../link/fake-loader.js';
import { delivered, OLD } from '../link/flashing.js';
import { until } from '../support/until.js';
import { ended, folderWith, standoff, start } from './command.js';
import { FakePort } from './fake-port.js';

const folder = folderWith({});
const desk = loadControlModule().sha256;
const box = await FakePort.open(delivered());
const loader = await FakePort.open(new FakeBox({}));
loader.box.state = 'loader';

/** A port where somebody listens who never says a word. */
const mute = createServer((socket) => socket.on('error', () => socket.destroy()));
await new Promise<void>((resolve) => mute.listen(0, '127.0.0.1', resolve));
const MUTE = `tcp://127.0.0.1:${(mute.address() as { port: number }).port}`;
/** A port on which another program sends. */
const chatty = createServer((socket) => {
  const talk = setInterval(() => socket.write('ready\r\n'), 20);
  socket.on('error', () => socket.destroy()).on('close', () => clearInterval(talk));
});
await new Promise<void>((resolve) => chatty.listen(0, '127.0.0.1', resolve));
const CHATTY = `tcp://127.0.0.1:${(chatty.address() as { port: number }).port}`;
afterAll(() => {
  mute.close();
  chatty.close();
});

describe('standoff ports', () => {
  it('says who answers, what it runs, whether that is the module of the desk, and what to do next', async () => {
    const { status, stdout } = await standoff(folder, 'ports', '--port', box.address);
    expect(status).toBe(0);
    const words = stdout.replace(/\s+/g, ' ');
    expect(words).toContain(
      `${box.address} box ${OLD.version}, module ${OLD.module_sha256.slice(0, 12)}, NOT the one on the desk, ` +
        `which is ${desk.slice(0, 12)}`,
    );
    expect(words).toContain(`next: standoff box --port ${box.address}`);
  });

  it('tells a loader without an image from a box, and names what it wants', async () => {
    const { stdout } = await standoff(folder, 'ports', '--port', loader.address);
    expect(stdout).toMatch(/loader .*no valid image/);
    expect(stdout).toContain(`next: standoff flash --port ${loader.address}`);
  });

  it('asks all ports at once, and whatever goes wrong with one is said beside it', async () => {
    const { status, stdout } = await standoff(
      folder,
      ...['ports', '--port', MUTE, '--port', box.address, '--port', '/dev/no-such-port', '--port', 'tcp://nowhere'],
    );
    expect(status).toBe(0);
    expect(stdout).toMatch(new RegExp(`${MUTE} +no answer`));
    expect(stdout).toMatch(/\/dev\/no-such-port +there is no port/);
    expect(stdout).toMatch(/tcp:\/\/nowhere +is not an address/);
    expect(stdout).toContain('note: standoff ports lists the ports');
    expect(stdout).toContain(`box ${OLD.version}`);
  });

  it('tells a port on which another program sends from a silent one', async () => {
    const { stdout } = await standoff(folder, 'ports', '--port', CHATTY);
    expect(stdout.replace(/\s+/g, ' ')).toMatch(
      /sends, but not as a box does: \d+ bytes came .* end the other program/,
    );
    const flash = start(folder, ['flash', '--port', CHATTY]);
    flash.stdout?.on('data', (chunk) => String(chunk).includes('No answer yet') && flash.kill('SIGINT'));
    const said = (await ended(flash)).stdout.replace(/\s+/g, ' ');
    expect(said).toMatch(/No answer yet \(\S+ sends, but not as a box does: .*\): switch the box off and on/);
    expect(said).toContain('Interrupted before a box had answered: nothing was written.');
  });

  it('prints the same as JSON and nothing else', async () => {
    const { stdout, stderr } = await standoff(folder, 'ports', '--json', '--port', MUTE, '--port', box.address);
    expect(stderr).toBe('');
    const { ports, ...rest } = JSON.parse(stdout);
    expect(rest).toEqual({ format: 'standoff ports 1', desk_module_sha256: desk });
    expect(ports).toEqual([
      {
        address: MUTE,
        ...{ serial: null, answers: null, version: null, module_sha256: null, desk_module: null, reason: 'no answer' },
      },
      {
        address: box.address,
        ...{
          serial: null,
          answers: 'box',
          version: OLD.version,
          module_sha256: OLD.module_sha256,
          desk_module: false,
          reason: null,
        },
      },
    ]);
  });

  it('opens none when it is told so', async () => {
    const { connections } = box;
    const { stdout } = await standoff(folder, 'ports', '--no-open', '--port', box.address);
    expect(stdout.trim()).toBe(box.address);
    expect(box.connections).toBe(connections);
  });

  it('ends by itself, whatever the port does', async () => {
    const child = start(folder, ['ports', '--port', MUTE]);
    expect(await new Promise((resolve) => child.on('close', resolve))).toBe(0);
  });
});

describe('the list of ports', () => {
  it('without udevadm is of USB adapters by their names, and says so', async () => {
    const devices = join(folder, 'dev');
    mkdirSync(devices);
    for (const name of ['ttyUSB1', 'ttyACM0', 'ttyS0', 'tty', 'null']) writeFileSync(join(devices, name), '');
    const { PATH } = process.env;
    process.env.PATH = folder;
    try {
      const { addresses, note } = await listPorts(devices);
      expect(addresses).toEqual([join(devices, 'ttyACM0'), join(devices, 'ttyUSB1')]);
      expect(note).toContain('udevadm is not installed');
    } finally {
      process.env.PATH = PATH;
    }
  });

  it('that is empty says what to plug in, and how to practise without', () => {
    expect(portsText([], '', desk, 80)).toMatch(/No serial port was found[\s\S]*standoff emulate/);
  });

  it.each([
    [
      'tcp://a:1',
      'the link to tcp://a:1 is lost: it has closed',
      'tcp://a:1  the link to tcp://a:1 is lost: it has closed',
    ],
    ['usb://a:1', 'usb://a:1: the line is in use by b', 'usb://a:1  the line is in use by b'],
    ['tcp://a:1', 'tcp://a:1 is not an address', 'tcp://a:1  is not an address'],
    ['', 'the address of the port is empty', 'the address of the port is empty'],
  ])('says the address once: %s', (address, reason, line) => {
    expect(portsText([{ address, reason }], '', desk, 100).split('\n')).toContain(line);
  });

  it('of a box with the desk’s module says that it is the one', () => {
    const identity = { in_loader: false, version: '1', module_sha256: desk, slot: 0 } as Identity;
    expect(portsText([{ address: 'COM3', identity }], '', desk, 80)).toMatch(/^COM3 {2}box 1, .*the one on the desk$/m);
  });

  it('repeats what to do only once, and fits the terminal', () => {
    const asked = ['A', 'B'].map((name) => ({
      address: `/dev/tty${name}`,
      reason: `/dev/tty${name} may not be opened`,
      remedy: 'on Linux join the group that owns it, often dialout, and log in again; close other programs that use it',
    }));
    const text = portsText(asked, '', desk, 60);
    expect(text.match(/join the group/g)).toHaveLength(1);
    expect(text).toMatch(/^\/dev\/ttyA {2}may not be opened$/m);
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(60);
  });
});

describe('a port that is asked', () => {
  it('whose box is at another speed still is found once that has fallen back', async () => {
    const port = await FakePort.open(new FakeBox({ slots: [slotOf(OLD, 1), undefined] }));
    port.box.state = 'off';
    setTimeout(() => {
      port.box.state = 'box';
    }, 900);
    expect((await askPort(port.address)).identity?.version).toBe(OLD.version);
  });
});

/** What udevadm says of a port: a box's own, or an adapter of some maker. */
const listed = (path: string, serial: string, pair = ['2e8a', '000a']): string =>
  [
    'P: /devices/usb',
    `N: ${path.slice('/dev/'.length)}`,
    `E: DEVNAME=${path}`,
    `E: ID_USB_SERIAL_SHORT=${serial}`,
    ...[`E: ID_USB_VENDOR_ID=${pair[0]}`, `E: ID_USB_MODEL_ID=${pair[1]}`, '', ''],
  ].join('\n');
const ONE = listed('/dev/ttyACM7', 'SNDF-E660583883124A2B');
const TWO = listed('/dev/ttyACM8', 'SNDF-E66105');
/** The same words in the serial number of something else. */
const OTHER = listed('/dev/ttyACM9', 'SNDF-77', ['1234', '5678']);

describe.runIf(process.platform === 'linux')('the own port of a box', () => {
  const list = join(folder, 'list');
  const fake = join(folder, 'bin');
  mkdirSync(fake);
  writeFileSync(join(fake, 'udevadm'), `#!/bin/sh\ncat '${list}'\n`);
  chmodSync(join(fake, 'udevadm'), 0o755);
  const run = (plugged: string, ...args: readonly string[]) => {
    writeFileSync(list, plugged);
    return ended(start(folder, args, { PATH: `${fake}${delimiter}${process.env.PATH}` }));
  };

  it('is listed with its serial number, which is what to type', async () => {
    const { stdout } = await run(OTHER + ONE, 'ports', '--no-open');
    expect(stdout).toMatch(/^\/dev\/ttyACM7 {2}SNDF-E660583883124A2B$/m);
    expect(stdout).toMatch(/^\/dev\/ttyACM9$/m);
    const identity = { in_loader: false, version: '1', module_sha256: desk, slot: 0 } as Identity;
    expect(portsText([{ address: '/dev/ttyACM7', serial: 'SNDF-E6', identity }], '', desk, 80)).toContain(
      'next: standoff box --port SNDF-E6',
    );
  });

  it('is found by its serial number or the beginning of it, under whatever name it has', async () => {
    for (const address of ['SNDF-E660583883124A2B', 'sndf-e660']) {
      const { stderr } = await run(OTHER + ONE + TWO, 'box', '--port', address);
      // There is no such file here: that it was looked for shows what was found.
      expect(stderr).toContain('/dev/ttyACM7');
    }
    const { stderr } = await run(listed('/dev/ttyACM3', 'SNDF-E660583883124A2B'), 'box', '--port', 'SNDF-E66');
    expect(stderr).toContain('/dev/ttyACM3');
  });

  it('is refused when several or none have such a number, with those that are there', async () => {
    const several = await run(ONE + TWO, 'box', '--port', 'SNDF-E66');
    expect(several.stderr).toMatch(/2 boxes[\s\S]*SNDF-E660583883124A2B, SNDF-E66105/);
    const none = await run(OTHER + TWO, 'box', '--port', 'SNDF-77');
    expect([none.status, none.stderr]).toEqual([
      2,
      expect.stringMatching(/no port of a box SNDF-77[\s\S]*SNDF-E66105/),
    ]);
    expect((await run('', 'box', '--port', 'SNDF-1')).stderr).toContain('ports --watch');
  });

  it('comes and goes under the eyes of ports --watch, and comes back under another name', async () => {
    writeFileSync(list, '');
    const child = start(folder, ['ports', '--watch', '--no-open'], { PATH: `${fake}${delimiter}${process.env.PATH}` });
    const watching = ended(child);
    let said = '';
    child.stdout?.on('data', (chunk) => {
      said += String(chunk);
    });
    for (const [plugged, words] of [
      ['', 'Watching'],
      [ONE, '/dev/ttyACM7  SNDF-E660583883124A2B'],
      ['', 'gone: /dev/ttyACM7'],
      [listed('/dev/ttyACM3', 'SNDF-E660583883124A2B'), '/dev/ttyACM3  SNDF-E660583883124A2B'],
    ] as const) {
      writeFileSync(list, plugged);
      await until(() => said.includes(words), 20);
    }
    child.kill('SIGINT');
    expect((await watching).status).toBe(130);
  });
});

describe('the list that is watched', () => {
  it('tells what came and went, and takes a list that fails once for unchanged', async () => {
    const ports = (addresses: readonly string[], serials: Readonly<Record<string, string>> = {}): PortList => ({
      ...{ addresses, serials, note: '' },
    });
    const looks = ['failed', ports(['A', 'B'], { B: 'SNDF-1' }), ports(['A', 'C'], { C: 'SNDF-1' })] as const;
    let look = 0;
    const list = async (): Promise<PortList> => {
      const found = looks[Math.min(look++, looks.length - 1)];
      if (typeof found === 'string') throw new Error(found);
      return found;
    };
    const stop = new AbortController();
    const changes: string[] = [];
    for await (const { came, gone } of watchPorts(stop.signal, ports(['A']), list)) {
      changes.push([...came.map(({ path }) => `+${path}`), ...gone.map(({ path }) => `-${path}`)].join(' '));
      if (changes.length === 2) stop.abort();
    }
    expect(changes).toEqual(['+B', '+C -B']);
  });
});

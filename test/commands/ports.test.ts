import { mkdirSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { portsText } from '../../sim/commands/box/ports.js';
import { askPort, type Identity, listPorts } from '../../sim/link/index.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { FakeBox } from '../link/fake-box.js';
import { slotOf } from '../link/fake-loader.js';
import { delivered, OLD } from '../link/flashing.js';
import { folderWith, standoff, start } from './command.js';
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
afterAll(() => mute.close());

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

  it('prints the same as JSON and nothing else', async () => {
    const { stdout, stderr } = await standoff(folder, 'ports', '--json', '--port', MUTE, '--port', box.address);
    expect(stderr).toBe('');
    const { ports, ...rest } = JSON.parse(stdout);
    expect(rest).toEqual({ format: 'standoff ports 1', desk_module_sha256: desk });
    expect(ports).toEqual([
      {
        address: MUTE,
        ...{ answers: null, version: null, module_sha256: null, desk_module: null, reason: 'no answer' },
      },
      {
        address: box.address,
        ...{ answers: 'box', version: OLD.version, module_sha256: OLD.module_sha256, desk_module: false, reason: null },
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

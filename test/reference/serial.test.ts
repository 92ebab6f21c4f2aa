import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { createServer, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { agreeSpeed, flash, openLine, readIdentity, Session } from '../../sim/link/index.js';
import { FakeBox } from '../link/fake-box.js';
import { slotOf } from '../link/fake-loader.js';
import { inventedImage } from '../link/images.js';
import { describeAgainst, type ReferenceProgram } from './support.js';

/** A pseudo-terminal is a serial port to everybody but the wire: it proves neither parity nor speed. */
const SOCAT: ReferenceProgram = { name: 'socat', debian: 'socat', command: 'socat', probe: ['-V'] };
const OLD = inventedImage(900, 1);
const NEW = inventedImage(20_000, 2);

describeAgainst(SOCAT, 'the serial stack over a pseudo-terminal of socat (computed)', (command) => {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-'));
  const port = join(folder, 'port');
  let box: FakeBox;
  let server: Server;
  let socat: ChildProcess | undefined;

  /** Plugs the adapter in; its name is then there. */
  async function plug(): Promise<void> {
    const { port: tcp } = server.address() as { port: number };
    socat = spawn(command, [`pty,raw,echo=0,link=${port}`, `tcp:127.0.0.1:${tcp},nodelay`], { stdio: 'ignore' });
    while (!existsSync(port)) await new Promise((resolve) => setTimeout(resolve, 10));
  }

  async function unplug(): Promise<void> {
    const ended = new Promise((resolve) => socat?.once('exit', resolve));
    socat?.kill();
    await ended;
    socat = undefined;
  }

  beforeEach(async () => {
    box = new FakeBox({ slots: [slotOf(OLD, 1), undefined] });
    server = createServer((socket) => {
      box.onBytes = (bytes) => socket.write(bytes);
      socket.on('data', (bytes) => box.receive(bytes));
      socket.on('error', () => socket.destroy());
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    await plug();
  });

  afterEach(async () => {
    box.stop();
    if (socat) await unplug();
    await new Promise((resolve) => server.close(resolve));
    rmSync(port, { force: true });
  });

  it('carries a session, at another speed too', async () => {
    const session = new Session(await openLine(port));
    expect(await readIdentity(session)).toMatchObject({ in_loader: false, version: OLD.version });
    expect(await agreeSpeed(session, 921_600, 115_200)).toBe(921_600);
    expect(await readIdentity(session)).toMatchObject({ image_sha256: OLD.image_sha256 });
    await session.close();
  });

  it('lets nobody else in', async () => {
    const line = await openLine(port);
    await expect(openLine(port)).rejects.toMatchObject({ code: 'port-busy' });
    await line.close();
    await (await openLine(port)).close();
  });

  it('notices that the plug is pulled, and lets go of the port', async () => {
    const session = new Session(await openLine(port));
    await readIdentity(session);
    const lost = new Promise<string>((resolve) => {
      session.onLost = resolve;
    });
    session.watch();
    await unplug();
    expect(await lost).not.toBe('');
    await session.close();
    await expect(openLine(port)).rejects.toMatchObject({ code: 'port-missing' });
  });

  it('flashes, with the plug pulled in the middle and put in again', async () => {
    let pulled: Promise<void> | undefined;
    const result = await flash({
      open: () => openLine(port),
      image: NEW,
      baud: 921_600,
      onProgress: ({ phase, sent }) => {
        if (phase === 'send' && sent > 8000) pulled ??= unplug().then(plug);
      },
    });
    await pulled;
    expect(pulled).toBeDefined();
    expect(result.reconnects).toBeGreaterThan(0);
    expect(result.after).toMatchObject({ in_loader: false, boot: 'update', image_sha256: NEW.image_sha256 });
    expect(box.slots[1]!.body).toEqual(NEW.body);
  });
});

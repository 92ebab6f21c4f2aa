import { mkdtempSync, writeFileSync } from 'node:fs';
import { createServer, type Server, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { StandoffError } from '../../sim/base/index.js';
import { type Line, openLine, readIdentity, Session } from '../../sim/link/index.js';
import { PENDING_MOST } from '../../sim/link/line.js';
import { openAgain } from '../../sim/link/loader-session.js';
import { FakeBox } from './fake-box.js';

const toClose: { close(): unknown }[] = [];
afterEach(async () => {
  for (const thing of toClose.splice(0)) await thing.close();
});

/** Something that listens on a port of this machine. @returns its address */
async function listening(welcome: (socket: Socket) => void): Promise<{ address: string; server: Server }> {
  const server = createServer(welcome);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  toClose.push(server);
  return { address: `tcp://127.0.0.1:${(server.address() as { port: number }).port}`, server };
}

async function opened(address: string): Promise<Line> {
  const line = await openLine(address);
  toClose.push(line);
  return line;
}

describe('a line over TCP', () => {
  it('carries a session', async () => {
    const box = new FakeBox();
    const { address } = await listening((socket) => {
      box.onBytes = (bytes) => socket.write(bytes);
      socket.on('data', (bytes) => box.receive(bytes));
    });
    const session = new Session(await opened(address));
    expect(await readIdentity(session)).toMatchObject({ boot: 'power-up', in_loader: false });
    await session.close();
  });

  it('tells once that the other end is gone', async () => {
    const { address } = await listening((socket) => socket.end());
    const line = await opened(address);
    const reasons: string[] = [];
    await new Promise<void>((resolve) => {
      line.onClosed = (reason) => {
        reasons.push(reason);
        resolve();
      };
    });
    line.write(Uint8Array.of(1));
    await line.close();
    expect(reasons).toEqual(['the other end has closed the connection']);
  });

  it('that is torn off is told once too', async () => {
    const { address } = await listening((socket) => setTimeout(() => socket.resetAndDestroy(), 20));
    const line = await opened(address);
    const reasons: string[] = [];
    line.onClosed = (reason) => reasons.push(reason);
    while (reasons.length === 0) await new Promise((resolve) => setTimeout(resolve, 10));
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(reasons).toHaveLength(1);
  });

  it('drops what an end that reads nothing would pile up', async () => {
    const { address } = await listening((socket) => {
      socket.pause();
      toClose.push({ close: () => socket.destroy() });
    });
    const line = await opened(address);
    // Far more than the buffers of the system, which are some MiB.
    for (let round = 0; round < 4000; round++) line.write(new Uint8Array(8192));
    expect(line.pending).toBeLessThanOrEqual(PENDING_MOST);
    expect(line.pending).toBeGreaterThan(PENDING_MOST - 8192);
  });
});

describe('an address', () => {
  it('of nothing that listens is said to be that', async () => {
    const { address, server } = await listening(() => {});
    await new Promise((resolve) => server.close(resolve));
    await expect(openLine(address)).rejects.toMatchObject({ code: 'port-closed' });
  });

  it('that is none is told with an example', async () => {
    await expect(openLine('tcp://nowhere')).rejects.toMatchObject({ code: 'port-address' });
  });

  // Only Linux asks another program for the list.
  it.runIf(process.platform === 'linux')('by a serial number says so when the system gives no list', async () => {
    const { PATH } = process.env;
    process.env.PATH = tmpdir();
    try {
      const what = expect.stringMatching(/^this system gives no list of ports to look SNDF-E6 up in \(.*udevadm/);
      await expect(openLine('SNDF-E6')).rejects.toMatchObject({ code: 'port-missing', what });
    } finally {
      process.env.PATH = PATH;
    }
  });

  it('of a port that does not exist is said to be that', async () => {
    await expect(openLine(join(tmpdir(), 'no-such-port'))).rejects.toMatchObject({ code: 'port-missing' });
  });

  it('of a file that is no port is said to be that', async () => {
    const file = join(mkdtempSync(join(tmpdir(), 'standoff-')), 'file');
    writeFileSync(file, '');
    await expect(openLine(file)).rejects.toMatchObject({ code: 'port-none' });
  });
});

describe('a port that went with the restart of its box', () => {
  const coming = (codes: readonly ConstructorParameters<typeof StandoffError>[0][]) => {
    const left = [...codes];
    return async () => {
      const code = left.shift();
      if (code !== undefined) throw new StandoffError(code, 'the port does not open', 'wait');
      return { address: 'back' } as Line;
    };
  };

  it('is waited for while the system makes it and gives it its owner', async () => {
    const open = coming(['port-missing', 'port-refused', 'port-busy', 'port-failed']);
    expect((await openAgain(open, 5000)).address).toBe('back');
  });

  it('is given up after its time, and at once when it is no port', async () => {
    await expect(openAgain(coming(Array(9).fill('port-refused')), 150)).rejects.toMatchObject({ code: 'port-refused' });
    await expect(openAgain(coming(['port-none']), 5000)).rejects.toMatchObject({ code: 'port-none' });
  });
});

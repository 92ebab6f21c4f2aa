/** The shipped commands on the USB port of `emulate --usb`, which goes and comes back with every restart of the box. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openLine } from '../../sim/link/index.js';
import { ended, folderWith, standoff, start } from '../commands/command.js';
import { describeAgainst, type ReferenceProgram } from '../reference/support.js';
import { Emulation } from './emulation.js';
import { variantImage } from './images.js';
import { PluggedPort } from './plugged-port.js';

const SOCAT: ReferenceProgram = { name: 'socat', debian: 'socat', command: 'socat', probe: ['-V'] };
const words = (text: string) => text.replace(/\s+/g, ' ');
const AGAIN = /The box has started again, and stands again in the fault voltage-at-rest/;

/** Waits until the box stands in the fault of its open leads. */
async function inFault(box: () => Promise<{ readonly stdout: string }>): Promise<void> {
  for (const by_ms = Date.now() + 60_000; Date.now() < by_ms; ) {
    if (/stands +in the fault voltage-at-rest/.test((await box()).stdout)) return;
  }
  throw new Error('the box stands in no fault');
}

describe('a bare board on an emulated USB port', () => {
  const folder = folderWith({ 'variant.image': variantImage(1) });
  let emulation: Emulation;
  const run = (command: string, ...args: readonly string[]) =>
    standoff(folder, command, '--port', emulation.address, ...args);

  beforeAll(async () => {
    emulation = await Emulation.start(folder, '--usb', '--bare');
    await inFault(() => run('box'));
  });
  afterAll(() => emulation.stop());

  it('has an address that says what it is, and its serial number', async () => {
    expect(emulation.address).toMatch(/^usb:\/\/127\.0\.0\.1:\d+$/);
    const line = await openLine(emulation.address);
    expect(line).toMatchObject({ of_the_box: true, serial: expect.stringMatching(/^SNDF-[0-9A-F]+$/) });
    await expect(openLine(emulation.address)).rejects.toMatchObject({ code: 'port-busy' });
    await line.close();
    const { status, stdout } = await standoff(folder, 'ports', '--port', emulation.address);
    expect([status, stdout]).toEqual([0, expect.stringContaining(`${emulation.address}  box `)]);
  });

  it('is set, and asked where it stands after the restart that took the port along', async () => {
    const { status, stdout, stderr } = await run('box', 'set', 'reading_zero_counts=600');
    expect([status, stderr]).toEqual([0, '']);
    expect(words(stdout)).toMatch(AGAIN);
    expect((await run('box')).stdout).toMatch(/reading_zero_counts +600/);
  });

  it('is compared in lockstep', async () => {
    const { status, stdout } = await run('lockstep', '--ticks', '600');
    expect([status, words(stdout)]).toEqual([0, expect.stringMatching(AGAIN)]);
    expect(stdout).toMatch(/all 600 ticks the same, byte for byte; \d+ ticks\/s\.$/m);
    expect(stdout).not.toContain('bit/s');
  });

  it('is flashed through two restarts', async () => {
    const { status, stdout } = await run('flash', '--image', 'variant.image');
    expect(status).toBe(0);
    expect(stdout).toMatch(/written and verified: slot 1, generation 2; [\d.]+ s, /);
    expect(stdout).not.toContain('broken link');
    expect(stdout).not.toContain('bit/s');
  });

  it('stays in the desk state for several commands, until it is told to start again', async () => {
    await inFault(() => run('box'));
    expect((await run('box', 'desk')).status).toBe(0);
    expect(words((await run('box', 'set', 'reading_zero_counts=300')).stdout)).toContain('in use after the restart');
    const { status, stdout } = await run('box', 'restart');
    expect([status, words(stdout)]).toEqual([0, expect.stringMatching(AGAIN)]);
  });

  it('is watched through a loss of its power', async () => {
    const child = start(folder, ['watch', '--port', emulation.address, '--plain']);
    const watching = ended(child);
    let said = '';
    child.stdout?.on('data', (chunk) => {
      said += String(chunk);
    });
    const until = (what: RegExp) => expect.poll(() => words(said), { timeout: 60_000, interval: 50 }).toMatch(what);
    await until(/Watching: box .*, every tick\. .* s [\d.]+ V/);
    // Somebody arms a box that hangs on a bare cable.
    emulation.press('k');
    await until(/CAUTION: the key is on with USB open: a bare USB cable ties the logic zero of the box/);
    emulation.press('k');
    emulation.press('p');
    await until(/LINK LOST after [\d.]+ s: the port has gone/);
    await until(/LINK LOST.* [\d.]+ s [\d.]+ V, target/);
    child.kill('SIGINT');
    expect((await watching).status).toBe(130);
  });
});

describe('an address of an emulated USB port', () => {
  it('where a plain serial line listens is said to be that', async () => {
    const emulation = await Emulation.start(folderWith({}), '--bare');
    try {
      const address = emulation.address.replace('tcp:', 'usb:');
      await expect(openLine(address)).rejects.toMatchObject({ code: 'port-closed' });
    } finally {
      await emulation.stop();
    }
  });

  it('is refused as missing while the box has no port', async () => {
    const emulation = await Emulation.start(folderWith({}), '--usb', '--bare');
    try {
      // It needs half a second of its own time to show one.
      await expect(openLine(emulation.address)).rejects.toMatchObject({ code: 'port-missing' });
    } finally {
      await emulation.stop();
    }
  });
});

describeAgainst(SOCAT, 'a port that comes back under another name', (command) => {
  const folder = folderWith({ 'variant.image': variantImage(1) });
  let emulation: Emulation;
  let port: PluggedPort;
  const run = (...args: readonly string[]) =>
    ended(start(folder, args, { PATH: `${folder}:${process.env.PATH ?? ''}` }));
  const moved = (from: number, to: number) =>
    `The box ${port.serial} has come back as ${port.name(to)}; it was ${port.name(from)}.`;

  beforeAll(async () => {
    emulation = await Emulation.start(folder, '--usb', '--bare');
    port = new PluggedPort(command, folder, emulation.address);
    await port.until(1);
    await inFault(() => run('box', '--port', port.name(port.came - 1)));
  });
  afterAll(async () => {
    await port?.stop();
    await emulation?.stop();
  });

  it('is followed by a command that was given the old name, which says so', async () => {
    const first = port.came - 1;
    const { status, stdout, stderr } = await run('box', 'set', 'reading_zero_counts=600', '--port', port.name(first));
    expect([status, stderr.trim()]).toEqual([0, moved(first, first + 1)]);
    expect(words(stdout)).toMatch(AGAIN);
  });

  it('is followed by a command that was given the serial number', async () => {
    const first = port.came - 1;
    const { status, stderr } = await run('lockstep', '--ticks', '100', '--port', port.serial.slice(0, 9));
    expect([status, stderr.trim()]).toEqual([0, moved(first, first + 1)]);
  });

  it('is seen to go and come back by ports --watch, which asks who is there', async () => {
    const first = port.came - 1;
    const child = start(folder, ['ports', '--watch', '--plain'], { PATH: `${folder}:${process.env.PATH ?? ''}` });
    const watching = ended(child);
    let said = '';
    child.stdout?.on('data', (chunk) => {
      said += String(chunk);
    });
    const until = (what: string) => expect.poll(() => words(said), { timeout: 60_000, interval: 50 }).toContain(what);
    await until('Watching; Ctrl-C ends it.');
    expect(words(said)).toContain(`${port.name(first)} ${port.serial} box `);
    emulation.press('p');
    await until(`gone: ${port.name(first)} ${port.serial}`);
    await until(`${port.name(first + 1)} ${port.serial} box `);
    child.kill('SIGINT');
    expect((await watching).status).toBe(130);
  });

  it('is followed twice by flash', async () => {
    const first = port.came - 1;
    const { status, stdout } = await run('flash', '--image', 'variant.image', '--port', port.name(first));
    expect(status).toBe(0);
    expect(stdout).toContain(moved(first, first + 1));
    expect(stdout).toContain(moved(first + 1, first + 2));
  });
});

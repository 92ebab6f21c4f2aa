/** The commands as a user types them, against the shipped loader and image on the emulated board, over TCP. */
import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { MODE_FOLLOW } from '../../firmware/wire/codes.gen.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { readCsv } from '../../sim/run/trace/index.js';
import { ended, folderWith, SHORT_CUT, standoff, start } from '../commands/command.js';
import { Emulation } from './emulation.js';
import { variantImage } from './images.js';

const desk = loadControlModule().sha256;
const folder = folderWith({ 'short.nc': SHORT_CUT, 'variant.image': variantImage(1) });

describe('the commands and an emulated box', () => {
  let emulation: Emulation;
  const run = (command: string, ...args: readonly string[]) =>
    standoff(folder, command, '--port', emulation.address, ...args);

  beforeAll(async () => {
    emulation = await Emulation.start(folder, 'short.nc');
  });
  afterAll(() => emulation.stop());

  it('emulate prints its address and what to type next', () => {
    expect(emulation.printed).toContain('a virtual table that cuts short.nc');
    for (const command of ['box', 'watch', 'flash']) {
      expect(emulation.printed).toContain(`next: standoff ${command} --port ${emulation.address}`);
    }
  });

  it('ports finds it, with the module of the desk', async () => {
    const { stdout } = await run('ports');
    expect(stdout).toMatch(new RegExp(`box \\S+, module ${desk.slice(0, 12)}, the one on the desk`));
  });

  it('box sets a parameter, which outlives a power cut, and says why it started', async () => {
    expect((await run('box', 'set', 'pierce_ms=450')).stdout).toContain('generation 1');
    emulation.press('p');
    await emulation.until(/Power off, and on again/);
    const { stdout } = await run('box');
    expect(stdout).toMatch(/pierce_ms +450 +ms +default 500/);
    expect(stdout).toContain('kept, generation 1');
    const events = await run('box', 'events');
    expect(events.stdout).toContain('the box started: power was switched on, or the reset pin');
  });

  it('lockstep finds all ticks the same', async () => {
    const { status, stdout } = await run('lockstep', '--ticks', '1200');
    expect([status, stdout]).toEqual([0, expect.stringContaining('all 1200 ticks the same, byte for byte')]);
  });

  it('flash writes nothing where the shipped image runs already', async () => {
    const { status, stdout } = await run('flash');
    expect([status, stdout]).toEqual([
      0,
      expect.stringMatching(/nothing was written: slot 0, generation 1 holds it, SHA-256 /),
    ]);
  });

  it('flash brings another image into the other slot and starts it', async () => {
    const { status, stdout } = await run('flash', '--image', 'variant.image');
    expect(status).toBe(0);
    expect(stdout).toMatch(/written and verified: slot 1, generation 2/);
    expect(stdout).toMatch(/in the box now: box .*, the one on the desk\n$/);
    const { stdout: json } = await run('box', '--json');
    const { identity, slots } = JSON.parse(json);
    const body = variantImage(1).subarray(256);
    expect(identity).toMatchObject({ slot: 1, generation: 2, boot: 'update', module_sha256: desk });
    const sha256 = createHash('sha256').update(body).digest('hex');
    expect(identity.image_sha256).toBe(sha256);
    expect(slots).toMatchObject([
      { holds: 'valid', runs: false, generation: 1 },
      { runs: true, generation: 2, image_sha256: sha256, body_sha256: sha256 },
    ]);
  });

  it('watch records a cut from its touch-off to its end', async () => {
    const child = start(folder, ['watch', '--port', emulation.address, '--save', 'cut.csv.gz']);
    const watching = ended(child);
    child.stdout?.once('data', () => emulation.press('c'));
    await emulation.until(/cut 1: the program has come to its end/);
    child.kill('SIGINT');
    const { status, stdout } = await watching;
    expect(status).toBe(130);
    expect(stdout).toContain('Following: standoff by voltage');
    const modes = new Set<number>();
    const head: Record<string, string> = {};
    let rows = 0;
    for await (const block of readCsv(join(folder, 'cut.csv.gz'), head)) {
      for (const mode of block.mode.subarray(0, block.count)) modes.add(mode);
      rows += block.count;
    }
    expect(head).toMatchObject({ source: 'box', module_sha256: desk, 'box.pierce_ms': '450' });
    for (let mode = 0; mode <= MODE_FOLLOW; mode++) expect(modes, `mode ${mode}`).toContain(mode);
    expect(rows).toBeGreaterThan(5000);
  });

  it('box, flash and lockstep are refused while the key is on, with what to do', async () => {
    // It was turned on for the cut.
    for (const [command, ...args] of [['box', 'set', 'pierce_ms=300'], ['flash'], ['lockstep']] as const) {
      const { status, stderr } = await run(command, ...args);
      expect([command, status]).toEqual([command, 2]);
      expect(stderr).toMatch(/the arm key is on[\s\S]*turn/);
    }
    const trimmed = await run('box', 'trim', '0.5');
    expect([trimmed.status, trimmed.stdout]).toEqual([
      0,
      expect.stringMatching(/In force: trim 0\.5 V\.[\s\S]*Lost at power-off: the arm key is on/),
    ]);
    expect((await run('box', 'trim', '-10')).stdout).toMatch(/In force: trim -\d\.?\d* V\.[\s\S]*least standoff/);
    expect((await run('box')).stdout).toMatch(/kept, generation 1[\s\S]*trim_V +-\d\.?\d* +V/);
    emulation.press('k');
    expect((await run('box', 'set', 'pierce_ms=460')).status).toBe(0);
  });

  it('emulate ends with q, and gives its port back', async () => {
    const { tcp_port } = emulation;
    expect(await emulation.stop()).toBe(0);
    const again = start(folder, ['emulate', '--listen', `${tcp_port}`]);
    again.stdout?.on('data', (chunk) => String(chunk).includes('keys: ') && again.stdin?.write('q'));
    const { status, stdout } = await ended(again);
    expect([status, stdout]).toEqual([0, expect.stringContaining(`address: tcp://127.0.0.1:${tcp_port}`)]);
  });
});

describe('the commands and an emulated box at its own USB port', () => {
  let emulation: Emulation;
  beforeAll(async () => {
    emulation = await Emulation.start(folder, 'short.nc', '--usb');
  });
  afterAll(() => emulation.stop());

  it('ports, box, lockstep and flash do what they do over the serial line', async () => {
    const run = (command: string, ...args: readonly string[]) =>
      standoff(folder, command, '--port', emulation.address, ...args);
    // The PC takes a while to find it.
    let found = '';
    for (let tries = 0; tries < 20 && !found.includes('the one on the desk'); tries++)
      found = (await run('ports')).stdout;
    expect(found).toContain('the one on the desk');
    expect((await run('box', 'set', 'pierce_ms=440')).stdout).toContain('generation 1');
    expect((await run('lockstep', '--ticks', '1200')).stdout).toContain('all 1200 ticks the same, byte for byte');
    const { status, stdout } = await run('flash', '--image', 'variant.image');
    expect([status, stdout]).toEqual([0, expect.stringMatching(/written and verified: slot 1, generation 2/)]);
    expect((await run('box', 'events')).stdout).toContain('the link over USB was found');
  });
});

describe('emulate refuses', () => {
  it('a serial device of the USB port, in one sentence', async () => {
    const { status, stderr } = await standoff(folder, 'emulate', '--listen', '0', '--usb', '--pty');
    expect([status, stderr]).toEqual([2, expect.stringContaining("'--usb' cannot be used with option '--pty'")]);
  });

  it('a port that is taken, with another to try', async () => {
    const { createServer } = await import('node:net');
    const server = createServer();
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const { port } = server.address() as { port: number };
    const { status, stderr } = await standoff(folder, 'emulate', '--listen', `${port}`);
    server.close();
    expect(status).toBe(2);
    expect(stderr).toMatch(/is taken[\s\S]*--listen/);
  });

  it.each([
    [['none.nc'], 'does not exist'],
    [['--image', 'short.nc'], 'short.nc'],
    [['--listen', '70000'], 'from 1 to 65535'],
    [['--setup', 'none.yaml'], 'does not exist'],
    [['--boot-rom', 'none.bin'], 'does not exist'],
    [['--boot-rom', 'short.nc'], 'the boot ROM short.nc has'],
  ])('%j', async (args, words) => {
    const { status, stderr } = await standoff(folder, 'emulate', ...args);
    expect(status).toBe(2);
    expect(stderr).toContain(words);
  });

  it('--pty where socat is missing, with the way without it', async () => {
    const { status, stderr } = await ended(start(folder, ['emulate', '--listen', '0', '--pty'], { PATH: folder }));
    expect(status).toBe(2);
    expect(stderr).toMatch(/socat, which was not found[\s\S]*TCP address/);
  });
});

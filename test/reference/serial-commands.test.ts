/**
 * The commands over a real serial stack: the package serialport on a pseudo-terminal of socat, and behind it the shipped
 * loader and image on the emulated board. The plug is pulled in the middle of an update and of watch. A pseudo-terminal
 * proves neither parity nor speed of the wire; the emulated board sends and receives at the speed that was agreed.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { readCsv } from '../../sim/run/trace/index.js';
import { type Ended, ended, folderWith, SHORT_CUT, standoff, start } from '../commands/command.js';
import { Emulation } from '../emulator/emulation.js';
import { variantImage } from '../emulator/images.js';
import { amount } from '../support/volume.js';
import { describeAgainst, type ReferenceProgram } from './support.js';

const SOCAT: ReferenceProgram = { name: 'socat', debian: 'socat', command: 'socat', probe: ['-V'] };
const SPEEDS = amount([115_200, 921_600], [921_600]);
const desk = loadControlModule().sha256;

describeAgainst(SOCAT, 'the commands over a serial port that is unplugged (computed)', (command) => {
  // One for each speed: what the box runs already is not written.
  const images = Object.fromEntries(SPEEDS.map((baud, index) => [`${baud}.image`, variantImage(index + 1)]));
  const folder = folderWith({ 'short.nc': SHORT_CUT, ...images });
  const port = join(folder, 'port');
  let emulation: Emulation;
  let socat: ChildProcess | undefined;

  /** Plugs the adapter in; its name is then there. */
  async function plug(): Promise<void> {
    const tcp = `tcp:127.0.0.1:${emulation.tcp_port},nodelay`;
    socat = spawn(command, [`pty,raw,echo=0,link=${port}`, tcp], { stdio: 'ignore' });
    while (!existsSync(port)) await new Promise((resolve) => setTimeout(resolve, 10));
  }

  async function unplug(): Promise<void> {
    const gone = new Promise((resolve) => socat?.once('exit', resolve));
    socat?.kill();
    await gone;
    rmSync(port, { force: true });
  }

  /** Runs a command; `act` gets each line that it prints. */
  function run(args: readonly string[], act: (line: string, child: ChildProcess) => void): Promise<Ended> {
    const child = start(folder, [args[0], '--port', port, ...args.slice(1)]);
    let rest = '';
    child.stdout?.on('data', (chunk) => {
      rest += String(chunk);
      const lines = rest.split('\n');
      rest = lines.pop()!;
      for (const line of lines) act(line, child);
    });
    return ended(child);
  }

  beforeAll(async () => {
    emulation = await Emulation.start(folder, 'short.nc');
    await plug();
  });
  afterAll(async () => {
    await unplug();
    await emulation.stop();
  });

  it('ports and box find it there', async () => {
    expect((await standoff(folder, 'ports', '--port', port)).stdout).toContain('the one on the desk');
    expect((await standoff(folder, 'box', '--port', port)).stdout).toContain('pierce_ms');
  });

  it('emulate --pty offers such a port by itself, and takes it away at its end', async () => {
    const other = await Emulation.start(folder, '--pty');
    expect(existsSync(other.address)).toBe(true);
    const { stdout } = await standoff(folder, 'ports', '--port', other.address);
    expect(stdout).toContain('the one on the desk');
    expect(await other.stop()).toBe(0);
    while (existsSync(other.address)) await new Promise((resolve) => setTimeout(resolve, 10));
  });

  it.each(SPEEDS)(
    'flash at %i bit/s: pulled in the middle and put in again, it ends with the image in the box',
    async (baud) => {
      const args = ['flash', '--image', `${baud}.image`, '--baud', `${baud}`];
      let pulled: Promise<void> | undefined;
      const { status, stdout, stderr } = await run(args, (line) => {
        if (/^writing: (9|1\d)\d{3} of/.test(line)) pulled ??= unplug().then(plug);
      });
      await pulled;
      expect(pulled, stdout + stderr).toBeDefined();
      expect(status, stdout + stderr).toBe(0);
      expect(stdout).toContain('The link broke; it is resumed as often as it breaks.');
      expect(stdout).toMatch(/written and verified: .* broken links?$/m);
      expect(stdout).toMatch(/in the box now: box \S+, module \S+, the one on the desk\n$/);
      const { identity } = JSON.parse((await standoff(folder, 'box', '--json', '--port', port)).stdout);
      expect(identity).toMatchObject({ in_loader: false, boot: 'update', module_sha256: desk });
    },
  );

  it.each(SPEEDS)(
    'watch at %i bit/s: pulled in the middle of a cut, it says so, finds the box, and numbers the gap',
    async (baud) => {
      const file = `cut-${baud}.csv.gz`;
      let plugged: Promise<void> | undefined;
      let more = 0;
      const { status, stdout, stderr } = await run(['watch', '--baud', `${baud}`, '--save', file], (line, child) => {
        if (line.startsWith('Watching')) emulation.press('c');
        if (line.includes('Piercing')) plugged ??= unplug();
        if (line.startsWith('LINK LOST')) plugged = plugged?.then(plug);
        if (line.startsWith('Gap 1') || more > 0) more++;
        if (more === 3) child.kill('SIGINT');
      });
      await plugged;
      expect(status, stdout + stderr).toBe(130);
      expect(stdout).toMatch(/^LINK LOST after \d+\.\d{3} s: /m);
      expect(stdout).toMatch(/^Found again: /m);
      expect(stdout).toMatch(/^Gap 1: \d+ rows lost between \d+\.\d{3} and \d+\.\d{3} s\.$/m);
      expect(stdout).not.toContain('started again');
      const head: Record<string, string> = {};
      const ticks: number[] = [];
      for await (const { first_tick, count } of readCsv(join(folder, file), head)) {
        for (let row = 0; row < count; row++) ticks.push(first_tick + row);
      }
      const every_ms = Number(head.every_ms);
      expect(every_ms).toBe(baud === 921_600 ? 1 : 8);
      const gaps = ticks.slice(1).filter((tick, index) => Math.round((tick - ticks[index]) / every_ms) > 1);
      // What is missing has been said, and nothing else; asked again, the box may begin its rows at another tick.
      expect(stdout.match(/^Gap \d+: /gm)).toHaveLength(gaps.length);
      // The cut went on without the link.
      await emulation.until(new RegExp(`cut ${SPEEDS.indexOf(baud) + 1}: the program has come to its end`));
    },
  );
});

/**
 * `standoff begin` as it ships, in a process of its own, with an emulated board over its USB port in another. The drive of the
 * chip's boot ROM cannot be emulated: a folder stands for it.
 */
import type { ChildProcess } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { delivered, OLD } from '../link/flashing.js';
import { SHIPPED_UF2 } from '../run/begin/uf2.js';
import { until } from '../support/until.js';
import { type Ended, ended, folderWith, start } from './command.js';
import { FakePort } from './fake-port.js';

const folder = folderWith({});
let made = 0;
const children: ChildProcess[] = [];
afterEach(() => {
  for (const child of children.splice(0)) if (child.exitCode === null) child.kill('SIGKILL');
});

/** A command with what it has said so far, as one line of words. */
class Running {
  said = '';
  readonly child: ChildProcess;
  readonly ended: Promise<Ended>;

  constructor(args: readonly string[], env: Record<string, string> = {}) {
    this.child = start(folder, args, env);
    children.push(this.child);
    this.child.stdout?.on('data', (chunk) => {
      this.said += String(chunk);
    });
    this.ended = ended(this.child);
  }

  get words(): string {
    return this.said.replace(/\s+/g, ' ');
  }

  /** Waits until it has said this. */
  says(words: string): Promise<void> {
    return until(() => this.words.includes(words), 120);
  }

  type(line: string): void {
    this.child.stdin?.write(`${line}\n`);
  }
}

const drive = (): string => {
  const path = join(folder, `drive-${made++}`);
  mkdirSync(path);
  return path;
};
/** A port of this computer that is free now; the emulated board listens there once it has its firmware. */
let port = 4500 + (process.pid % 400);
const emulated = (...args: readonly string[]): Running =>
  new Running(['emulate', '--bare', '--usb', '--listen', `${++port}`, ...args]);
const address = () => `usb://127.0.0.1:${port}`;
const begun = (...args: readonly string[]) => new Running(['begin', '--port', address(), '--ticks', '2000', ...args]);

describe('standoff begin, from a bare board', () => {
  it('leads to lockstep, past wrong answers, and goes on at its step when it is begun again', async () => {
    const folder_of_board = drive();
    const board = emulated('--drive', folder_of_board);
    await board.says('with its boot button held');
    const first = begun();
    await first.says('Looking for');
    // The first look takes 1.5 s, and then it says what it waits for.
    await first.says('Waiting for a path, or for the port');
    first.type('/no/such/folder');
    await first.says('/no/such/folder has no INFO_UF2.TXT');
    first.type('/no/such/folder');
    await first.says('there is no /no/such/folder');
    const home = drive();
    writeFileSync(join(home, 'mine'), 'mine');
    first.type(home);
    await first.says('as a boot drive has. Type it again');
    expect(existsSync(join(home, 'standoff.uf2'))).toBe(false);
    first.type(folder_of_board);
    const { status, stdout, stderr } = await first.ended;
    expect([status, stderr]).toEqual([0, '']);
    expect(readFileSync(join(folder_of_board, 'standoff.uf2')).equals(SHIPPED_UF2)).toBe(true);
    const words = stdout.replace(/\s+/g, ' ');
    const places = [
      '[done] 1 of 6 boot drive',
      '[done] 2 of 6 firmware file: written:',
      'Waiting for usb:',
      '[done] 3 of 6 port',
      '[done] 4 of 6 who answers',
      'in the desk state now',
      'all 2000 ticks the same, byte for byte',
      'The box has started again, and stands',
      '[done] 5 of 6 lockstep',
      'for the desk only',
      `next: standoff box --port ${address()}`,
    ].map((part) => words.indexOf(part));
    expect(places, words).not.toContain(-1);
    expect(places).toEqual([...places].sort((one, other) => one - other));

    const second = await begun().ended;
    expect(second.status).toBe(0);
    const again = second.stdout.replace(/\s+/g, ' ');
    expect(again).toContain('[done] 1 of 6 boot drive: not needed');
    expect(again).not.toContain('Hold down the button');
    expect(again).toContain('[done] 5 of 6 lockstep');

    board.type('k');
    await new Promise((resolve) => setTimeout(resolve, 300));
    const armed = await begun().ended;
    expect(armed.status).toBe(2);
    expect(armed.stderr).toContain('key');
  });

  it('goes on by itself when the file is copied by hand, and with nobody at the keyboard', async () => {
    const folder_of_board = drive();
    const board = emulated('--drive', folder_of_board);
    await board.says('with its boot button held');
    const command = begun();
    command.child.stdin?.end();
    await command.says('Step 3 of 6');
    writeFileSync(join(folder_of_board, 'by-hand.uf2'), SHIPPED_UF2);
    expect((await command.ended).status).toBe(0);
  });

  it('writes to --drive without asking, and over nothing', async () => {
    const taken = drive();
    writeFileSync(join(taken, 'standoff.uf2'), 'mine');
    ++port;
    const { status, stderr } = await begun('--drive', taken).ended;
    expect(status).toBe(2);
    expect(stderr).toContain('standoff.uf2 exists');
    expect(readFileSync(join(taken, 'standoff.uf2'), 'utf8')).toBe('mine');
  });
});

describe('standoff begin ends', () => {
  it('with q', async () => {
    ++port;
    const command = begun();
    await command.says('Waiting for a path');
    command.type('q');
    expect((await command.ended).status).toBe(4);
  });

  it.each(['Waiting for a path', 'Step 3 of 6'])('with Ctrl-C at "%s"', async (where) => {
    ++port;
    const command = begun(...(where.startsWith('Step') ? ['--drive', drive()] : []));
    await command.says(where);
    command.child.kill('SIGINT');
    expect((await command.ended).status).toBe(130);
  });

  it('with what is no address at all', async () => {
    const { status, stderr } = await new Running(['begin', '--port', 'tcp://here']).ended;
    expect([status, stderr]).toEqual([2, expect.stringContaining('is not an address')]);
  });

  it('when the box has another module, and says how to bring this one in', async () => {
    const box = await FakePort.open(delivered());
    const { status, stderr } = await new Running(['begin', '--port', box.address]).ended;
    expect(status).toBe(2);
    expect(stderr.replace(/\s+/g, ' ')).toContain(`standoff flash --port ${box.address}`);
    expect(OLD.module_sha256).not.toBe(loadControlModule().sha256);
  });
});

it('keeps to a narrow window', async () => {
  ++port;
  const command = new Running(['begin', '--port', address(), '--plain'], { COLUMNS: '40' });
  await command.says('Waiting for a path');
  command.type('q');
  const { stdout } = await command.ended;
  const long = stdout.split('\n').filter((line) => line.length > 40);
  // A path is not broken: it is there to be copied.
  expect(long.filter((line) => !/\S{36}/.test(line))).toEqual([]);
  // biome-ignore lint/suspicious/noControlCharactersInRegex: the range is what ASCII is
  expect(stdout).toMatch(/^[\x00-\x7f]*$/);
});

import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { Watched } from '../../sim/commands/box/watched.js';
import { type Found, WatchLink } from '../../sim/run/box/index.js';
import { rowInterval_ms } from '../../sim/run/box/watch.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { readCsv } from '../../sim/run/trace/index.js';
import type { FakeBox } from '../link/fake-box.js';
import { delivered, OLD } from '../link/flashing.js';
import { until } from '../support/until.js';
import { type Ended, ended, folderWith, standoff, start } from './command.js';
import { FakePort } from './fake-port.js';

const folder = folderWith({ 'there.csv': 'mine' });

async function boxAt(prepare: (box: FakeBox) => void = () => {}): Promise<FakePort> {
  const box = delivered();
  prepare(box);
  return FakePort.open(box);
}

/** Watches; `act` is called with each line that is printed, and ends it with Ctrl-C. */
function watch(
  port: FakePort,
  args: readonly string[],
  act: (line: string, interrupt: () => void, count: number) => void,
): Promise<Ended> {
  const child = start(folder, ['watch', '--port', port.address, ...args]);
  let rest = '';
  let count = 0;
  // Once: a second Ctrl-C would end it where it stands.
  let interrupt = () => {
    interrupt = () => {};
    child.kill('SIGINT');
  };
  child.stdout?.on('data', (chunk) => {
    rest += String(chunk);
    const lines = rest.split('\n');
    rest = lines.pop()!;
    for (const line of lines) act(line, () => interrupt(), count++);
  });
  return ended(child);
}

async function ticksIn(name: string, head: Record<string, string> = {}): Promise<number[]> {
  const ticks: number[] = [];
  for await (const { first_tick, count } of readCsv(join(folder, name), head))
    for (let row = 0; row < count; row++) ticks.push(first_tick + row);
  return ticks;
}

/** Enough plain lines to be sure that rows come. */
const ENOUGH = 4;

describe('standoff watch on a pipe', () => {
  it('prints plain lines until Ctrl-C, and gives the line back as it was', async () => {
    const port = await boxAt();
    const { status, stdout, stderr } = await watch(port, [], (_, interrupt, count) => count === ENOUGH && interrupt());
    expect([status, stderr]).toEqual([130, '']);
    const lines = stdout.trim().split('\n');
    expect(lines[0]).toBe(`Watching: box ${OLD.version}, every tick at 921600 bit/s.`);
    expect(lines[1]).toMatch(/^ +\d+\.\d{3} s {2}0\.0 V, target 0\.0 {2}Touching off, key off$/);
    expect(lines.at(-1)).toMatch(/^Watched: \d+ rows, /);
    for (const control of ['\x1b', '\r']) expect(stdout).not.toContain(control);
    expect(port.box.baud).toBe(115200);
    expect(port.box.asked).not.toContain('parameters-stage');
  });

  it('shows the trim that the box has', async () => {
    const port = await boxAt(({ app }) => {
      app.parameters.set(PARAMETER_ROWS.find(({ name }) => name === 'trim_V')!.id, -0.5);
    });
    const { stdout } = await watch(port, [], (_, interrupt, count) => count === ENOUGH && interrupt());
    expect(stdout.split('\n')[1]).toContain(' V, target 0.0, trim -0.50  ');
  });

  it('saves every row, with module, firmware and parameters in the head; Ctrl-C leaves a whole file', async () => {
    const port = await boxAt();
    const { stdout } = await watch(
      port,
      ['--save', 'rows.csv.gz'],
      (_, interrupt, count) => count === ENOUGH && interrupt(),
    );
    const head: Record<string, string> = {};
    const ticks = await ticksIn('rows.csv.gz', head);
    expect(head).toMatchObject({
      source: 'box',
      module_sha256: OLD.module_sha256,
      firmware: OLD.version,
      every_ms: '1',
    });
    expect(head['box.reading_gain_mV']).toBe('96.68');
    expect(ticks.length).toBeGreaterThan(500);
    expect(ticks).toEqual(ticks.map((_, index) => ticks[0] + index));
    expect(stdout).toContain(`Saved: ${ticks.length} rows in rows.csv.gz.`);
  });

  it('takes fewer rows where the line has no room for all of them', async () => {
    const port = await boxAt();
    const { stdout } = await watch(
      port,
      ['--baud', '115200', '--save', 'few.csv'],
      (_, interrupt, count) => count === ENOUGH && interrupt(),
    );
    expect(stdout).toContain('a row every 8 ms at 115200 bit/s');
    const ticks = await ticksIn('few.csv');
    expect(ticks).toEqual(ticks.map((_, index) => ticks[0] + 8 * index));
  });

  it('says of a parameter that nothing uses any more what to do', async () => {
    const { id } = PARAMETER_ROWS.find(({ name }) => name === 'learn_ms')!;
    const port = await boxAt(({ app }) => void app.parameters.set(id, 300));
    const { stdout } = await watch(port, [], (_, interrupt, count) => count === ENOUGH && interrupt());
    expect(stdout.replace(/\s+/g, ' ')).toContain('learn_ms 300 has no effect any more');
  });

  it('shows that in the picture too, until the box holds another value', () => {
    const watched = new Watched({ address: 'tcp://box', say: () => {} });
    const identity = { version: OLD.version, tick: 5 } as Found['identity'];
    const linkOf = (learn_ms: number) => {
      watched.found({ identity, parameters: { ...defaultSetup().box, learn_ms }, every_ms: 1, baud: 921_600 });
      return watched.link.text;
    };
    // What to do comes first: a terminal of 80 columns shows no more.
    expect(linkOf(300).slice(0, 79)).toContain('learn_ms 300 has no effect any more');
    expect(linkOf(200)).toMatch(/^every tick: 0 rows/);
  });

  it('changes the trim while it watches, and shows what the box made of it', async () => {
    const said: string[] = [];
    const watched = new Watched({ address: 'tcp://box', say: (text) => said.push(text) });
    const port = await boxAt();
    const link = new WatchLink({ address: port.address, baud: 115_200, listener: watched });
    await watched.trim(link, 0.5);
    expect(watched.history.scene.trim_V).toBe(0);
    expect(said.pop()).toBe(`${port.address}: no box was found yet: trim 0.00 V as it was.`.replace(/^t/, 'T'));
    const run = link.run();
    await until(() => watched.history.now !== undefined, 60);
    const { history } = watched;
    await watched.trim(link, 0.5);
    expect(watched.link.text).toBe('trim 0.50 V in force; lost at power-off');
    // The picture goes on, with the new trim in it.
    expect([watched.history === history, history.scene.trim_V]).toEqual([true, 0.5]);
    await watched.trim(link, -5);
    expect(watched.link.text).toBe('trim -3.00 V in force, as low as the least standoff allows; lost at power-off');
    await link.close();
    await run;
    await watched.trim(link, 0.5);
    expect(watched.link.text).toMatch(/: trim -3\.00 V as it was$/);
    expect(history.scene.trim_V).toBe(-3);
  });

  it('says within a second that the link is lost, finds the box again, and numbers the gap', async () => {
    const port = await boxAt();
    let lost_ms = 0;
    let said_ms = 0;
    let more = 0;
    const { stdout } = await watch(port, ['--save', 'gap.csv'], (line, interrupt, count) => {
      if (count === 2) {
        // The box goes on; nothing of it comes through. The connection stays open, as a pulled plug leaves it.
        lost_ms = Date.now();
        port.mute = true;
        setTimeout(() => {
          port.mute = false;
        }, 2500);
      }
      if (line.startsWith('LINK LOST')) said_ms = Date.now();
      if (line.startsWith('Gap 1') || more > 0) more++;
      if (more === 3) interrupt();
    });
    expect(stdout).toMatch(/LINK LOST after \d+\.\d{3} s: nothing was heard for 1 s/);
    expect(stdout).toContain(`Found again: box ${OLD.version}`);
    expect(stdout).toMatch(/^Gap 1: \d+ rows lost between \d+\.\d{3} and \d+\.\d{3} s\.$/m);
    // Not a measurement: between the last row and the word lies a second of silence and what this machine is busy with.
    expect(said_ms).toBeGreaterThan(lost_ms);
    const ticks = await ticksIn('gap.csv');
    const jumps = ticks.slice(1).filter((tick, index) => tick !== ticks[index] + 1);
    expect(jumps).toHaveLength(1);
  });

  it('tells a box that has started again from one that was not heard, and saves it in a file of its own', async () => {
    const port = await boxAt();
    let found = 0;
    const { stdout } = await watch(port, ['--save', 'again.csv'], (line, interrupt, count) => {
      if (count === 3) port.box.restart('hung', 'box');
      if (line.startsWith('Found again')) found = count;
      if (found > 0 && count > found + 3) interrupt();
    });
    expect(stdout).toMatch(/The box has started again: the control tick stopped/);
    expect(stdout).not.toContain('Gap');
    expect(stdout).toMatch(/Saved: \d+ rows in again\.csv, again-2\.csv\./);
    const [first, second] = [await ticksIn('again.csv'), await ticksIn('again-2.csv')];
    expect(second[0]).toBeLessThan(first.at(-1));
    for (const ticks of [first, second]) expect(ticks).toEqual(ticks.map((_, index) => ticks[0] + index));
  });

  it('tells a loader in which the box got stuck by being asked to start its image', async () => {
    const port = await boxAt();
    let found = false;
    await watch(port, [], (line, interrupt, count) => {
      if (count === 2) port.box.restart('restart', 'loader');
      if (line.startsWith('Found again')) found = true;
      if (found) interrupt();
    });
    expect(port.box.asked).toContain('restart');
    expect(port.box.state).toBe('box');
  });

  it.each([
    [['--save', 'there.csv'], 'there.csv exists'],
    [['--save', 'rows.txt'], '.csv or .csv.gz'],
    [['--baud', '300'], 'from 9600 to 2000000'],
  ])('refuses %j before the port is opened', async (args, text) => {
    const port = await boxAt();
    const { status, stderr } = await standoff(folder, 'watch', '--port', port.address, ...args);
    expect(status).toBe(2);
    expect(stderr).toContain(text);
    expect(port.connections).toBe(0);
    expect(readFileSync(join(folder, 'there.csv'), 'utf8')).toBe('mine');
  });

  it('is an error where there is no box at the start, and leaves no file', async () => {
    const { status, stderr } = await standoff(folder, 'watch', '--port', 'tcp://127.0.0.1:1', '--save', 'never.csv');
    expect(status).toBe(2);
    expect(stderr).toContain('no connection to tcp://127.0.0.1:1');
    const empty = await boxAt((box) => {
      box.slots[0] = undefined;
      box.state = 'loader';
    });
    const loader = await standoff(folder, 'watch', '--port', empty.address, '--save', 'never.csv');
    expect(loader.stderr).toMatch(/it has no image that starts[\s\S]*standoff flash/);
    expect(existsSync(join(folder, 'never.csv'))).toBe(false);
  });
});

describe('the interval of rows', () => {
  it('is one tick at 921600 bit/s, and more where less fits', () => {
    expect([2_000_000, 921_600, 460_800, 115_200, 57_600].map(rowInterval_ms)).toEqual([1, 1, 2, 8, 16]);
  });
});

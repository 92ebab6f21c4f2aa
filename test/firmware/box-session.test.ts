/** The host's own session over TCP with the box on the PC's board, in real time. */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { afterEach, expect, it } from 'vitest';
import { INPUT_BREAKAWAY, INPUT_KEY, INPUT_STOP_CHAIN, INPUT_TOP } from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { openLine, readIdentity, readParameters, readRing, Session, writeParameters } from '../../sim/link/index.js';
import { describeAgainst } from '../reference/support.js';
import { buildBox } from './box-native.js';
import { GCC } from './loader-native.js';

const QUIET = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;

describeAgainst(GCC, 'a session with the box', (gcc) => {
  const program = buildBox(gcc);
  let box: ChildProcess | undefined;
  let session: Session | undefined;

  afterEach(async () => {
    await session?.close();
    session = undefined;
    box?.kill();
    box = undefined;
  });

  /** A box that runs by the clock, and a session with it. */
  async function connect(lines = QUIET): Promise<Session> {
    const folder = mkdtempSync(join(tmpdir(), 'standoff-boxed-'));
    box = spawn(program, [folder, '--tcp', '0'], { stdio: ['pipe', 'pipe', 'inherit'] });
    box.stdin!.write(`digital_inputs ${lines}\n`);
    const address = await new Promise<string>((resolve) => createInterface(box!.stdout!).once('line', resolve));
    session = new Session(await openLine(address));
    session.watch();
    // Until it has looked at its lines.
    while (((await session.ask('ping')).values.tick as number) < 20);
    return session;
  }

  it('reads who it is and all its parameters', async () => {
    const made = await connect();
    expect(await readIdentity(made)).toMatchObject({ in_loader: false, boot: 'power-up', version: '0.0.0' });
    const expected = PARAMETER_ROWS.map((row) => [row.name, Math.fround(row.default)]);
    expect(await readParameters(made)).toEqual(Object.fromEntries(expected));
  });

  it('writes parameters, and is told which one the box does not take', async () => {
    const made = await connect();
    expect(await writeParameters(made, { gain_p_per_s: 3, stuck_ms: 200 })).toBe(1);
    expect(await readParameters(made)).toMatchObject({ gain_p_per_s: 3, stuck_ms: 200 });
    await expect(writeParameters(made, { gain_p_per_s: 1e6 })).rejects.toThrow(/gain_p_per_s/);
    expect(await writeParameters(made, { gain_p_per_s: 4 })).toBe(2);
  });

  it('is refused with the reason while the key is on', async () => {
    const made = await connect(QUIET | INPUT_KEY);
    await expect(made.ask('loader-enter')).rejects.toThrow(/key/);
  });

  it('streams telemetry that lasts while the session pings', async () => {
    const made = await connect();
    const ticks: number[] = [];
    const enough = new Promise<void>((resolve) => {
      made.onTelemetry = ({ tick }) => {
        if (ticks.push(tick as number) === 300) resolve();
      };
    });
    // 3 s of it: without a ping the box would have ended it after one.
    await made.ask('telemetry', { every_ms: 10 });
    await enough;
    const rows = ticks.slice(1).map((tick, i) => tick - ticks[i]);
    expect(rows.every((gap) => gap === 10) || made.lost_rows > 0).toBe(true);
  });

  it('reads the events since the start', async () => {
    const made = await connect();
    await made.ask('ping');
    const kinds = (await readRing(made, 'events-read')).map(({ kind }) => kind);
    expect(kinds[0]).toBe(1);
    expect(kinds).toContain(13);
  });
});

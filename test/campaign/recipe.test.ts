import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { thereOrDemanded } from '../support/demanded.js';
import { until } from '../support/until.js';

const RECIPE = fileURLToPath(new URL('../../hardware-notes/fuzzing/parallel.sh', import.meta.url));
const MAIN = fileURLToPath(new URL('../../dist/sim/commands/main.js', import.meta.url));
const env = { ...process.env, STANDOFF: `${process.execPath} ${MAIN}`, NO_COLOR: '1' };
/** Long enough that a shard can be broken off after its first part is kept. */
const CAMPAIGN = ['--runs', '480', '--seed', '4'];
/** Stands in for a standoff that takes its time to keep what is complete. */
const SLOW = `while [ "$1" != --out ]; do shift; done
trap 'sleep 3; echo complete > slow.txt; exit 130' TERM
echo begun > slow.txt
sleep 60 & wait
`;
const has_parallel = spawnSync('parallel', ['--version']).status === 0;

const ended = (child: ChildProcess) =>
  new Promise<number | null>((resolve) => {
    child.once('close', (status) => resolve(status));
  });

describe.runIf(thereOrDemanded(has_parallel))('GNU parallel', () => {
  const folder = join(tmpdir(), `standoff-recipe-${randomUUID()}`);
  beforeAll(() => void mkdirSync(folder));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const text = (name: string) => readFileSync(join(folder, name), 'utf8');
  /** Numbers of the shards that have kept something. */
  const kept = () => readdirSync(folder).flatMap((name) => /^shard-(\d+)\.json$/.exec(name)?.[1] ?? []);

  it('gives what one run gives, although Ctrl-C broke it off, when the same line is given again', async () => {
    // A name with a space must come through all shells.
    writeFileSync(join(folder, 'my box.yaml'), 'box: {}\n');
    const line = [RECIPE, '3', ...CAMPAIGN, '--setup', 'my box.yaml'];
    const child = spawn('sh', line, { cwd: folder, env, stdio: 'ignore', detached: true });
    const end = ended(child);
    await until(() => kept().length > 0, 60);
    // As a terminal does: to the whole group.
    process.kill(-child.pid!, 'SIGINT');
    expect(await end).not.toBe(0);
    const logs = kept().map((shard) => text(`shard-${shard}.log`));
    expect(logs.join()).toContain('these were not tried');
    // What the cuts found decides the status, 0 or 1, and is no business of this test.
    const again = spawnSync('sh', line, { cwd: folder, env, stdio: 'pipe' });
    const single = [MAIN, 'fuzz', ...CAMPAIGN, '--json'];
    const whole = spawnSync(process.execPath, single, { encoding: 'utf8', stdio: 'pipe', maxBuffer: 2 ** 24 });
    expect([0, 1]).toContain(whole.status);
    expect(again.status === 0).toBe(whole.status === 0);
    expect(text('campaign.json')).toBe(whole.stdout);
  });

  it('waits for a shard that takes its time to keep what is complete', async () => {
    writeFileSync(join(folder, 'slow.sh'), SLOW);
    writeFileSync(join(folder, 'slow.txt'), '');
    const slow = { ...env, STANDOFF: 'sh slow.sh' };
    const child = spawn('sh', [RECIPE, '1'], { cwd: folder, env: slow, stdio: 'ignore', detached: true });
    const end = ended(child);
    await until(() => text('slow.txt') === 'begun\n', 60);
    // GNU parallel passes nothing on to a job that it began a tenth of a second ago: its own handlers stand a little later.
    await sleep(2000);
    process.kill(-child.pid!, 'SIGINT');
    await end;
    await until(() => text('slow.txt') === 'complete\n', 30);
  });
});

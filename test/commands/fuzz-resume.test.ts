import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { until } from '../support/until.js';
import { amount } from '../support/volume.js';
import { ended, folderWith, SHORT_CUT, standoff, start } from './command.js';

const folder = folderWith({ 'cut.nc': SHORT_CUT, 'there.json': 'mine\n' });
const text = (name: string) => readFileSync(join(folder, name), 'utf8');
const FUZZ = ['fuzz', 'cut.nc', '--seed', '3', '--workers', '1'] as const;
/** Ten parts, of which the first is kept at once: time to break off in the second. */
const LONG = [...FUZZ, '--runs', '320'] as const;
let unbroken = '';
beforeAll(async () => {
  unbroken = (await standoff(folder, ...LONG, '--json')).stdout;
});

/** What the cuts found, a broken requirement or none, is no business of these tests. */
const FINISHED = [0, 1];

describe('a campaign that is broken off', () => {
  it.each(amount(['SIGINT', 'SIGTERM', 'SIGHUP'] as const, ['SIGINT'] as const))(
    'by %s leaves what is complete, and the same line goes on',
    async (signal) => {
      const line = [...LONG, '--out', `${signal}.json`, '--resume'];
      const child = start(folder, line);
      const end = ended(child);
      await until(() => existsSync(join(folder, `${signal}.json`)), 60);
      // Twice, as from a queue that is in a hurry.
      child.kill(signal);
      child.kill(signal);
      const { status, stdout } = await end;
      expect([status, stdout]).toEqual([130, expect.stringContaining('Of 320 cuts these were not tried')]);
      expect(existsSync(join(folder, `${signal}.json.part`))).toBe(false);
      expect(FINISHED).toContain((await standoff(folder, ...line)).status);
      expect(text(`${signal}.json`)).toBe(unbroken);
    },
  );

  it('without warning, as by a power cut, goes on from what was kept', async () => {
    const line = [...LONG, '--out', 'killed.json', '--resume'];
    const child = start(folder, line);
    const end = ended(child);
    await until(() => existsSync(join(folder, 'killed.json')), 60);
    child.kill('SIGKILL');
    await end;
    expect(JSON.parse(text('killed.json')).tally.cases).toBeGreaterThan(0);
    expect(text('killed.json')).not.toBe(unbroken);
    expect(FINISHED).toContain((await standoff(folder, ...line)).status);
    expect(text('killed.json')).toBe(unbroken);
  });

  it('as a shard is not merged, and goes on as that shard without being told which', async () => {
    const child = start(folder, [...LONG, '--shard', '1/2', '--out', 'half.json']);
    const end = ended(child);
    await until(() => existsSync(join(folder, 'half.json')), 60);
    child.kill('SIGTERM');
    await end;
    const refused = await standoff(folder, 'merge', 'half.json');
    expect([refused.status, refused.stderr]).toEqual([2, expect.stringContaining('half.json was broken off: cuts')]);
    const remedy = /standoff (fuzz --out half\.json --resume)/.exec(refused.stderr)?.[1] ?? '';
    expect(FINISHED).toContain((await standoff(folder, ...remedy.split(' '))).status);
    const { covered, part } = JSON.parse(text('half.json'));
    expect([part, covered]).toEqual([[0, 160], [[0, 160]]]);
  });
});

describe('--resume', () => {
  const LINE = [...FUZZ, '--runs', '6', '--shard', '2/3'] as const;
  beforeAll(async () => {
    await standoff(folder, ...LINE, '--out', 'second.json');
    const other = { ...JSON.parse(text('second.json')), simulator_sha256: 'another' };
    writeFileSync(join(folder, 'build.json'), JSON.stringify(other));
  });

  it('leaves a result alone that is complete', async () => {
    const before = text('second.json');
    const { status, stdout } = await standoff(folder, ...LINE, '--out', 'second.json', '--resume', '--json');
    expect([status, stdout, text('second.json')]).toEqual([0, before, before]);
  });

  it.each([
    ['another seed', ['fuzz', 'cut.nc', '--seed', '4', '--out', 'second.json'], 'the seed (4 and 3)'],
    ['no word of the seed', ['fuzz', 'cut.nc', '--out', 'second.json'], 'the seed (1 and 3)'],
    ['another number of cuts', ['fuzz', '--runs', '7', '--out', 'second.json'], 'the number of cuts (7 and 6)'],
    ['another program', ['fuzz', '--seed', '3', '--out', 'second.json'], 'the programs'],
    ['another setup', [...LINE, '--set', 'pierce_ms=400', '--out', 'second.json'], 'the setup'],
    ['another range', [...LINE, '--range', 'faults=0', '--out', 'second.json'], 'the ranges'],
    ['another shard', [...LINE.slice(0, -1), '1/3', '--out', 'second.json'], 'the shard (cuts 0 to 1 and cuts 2 to 3)'],
    ['another build', [...LINE, '--out', 'build.json'], 'begun with another build of Standoff'],
    ['what is no result', [...LINE, '--out', 'there.json'], 'there.json is no result of standoff fuzz'],
    ['no file', LINE, '--resume without --out'],
    ['--force as well', [...LINE, '--out', 'second.json', '--force'], "cannot be used with option '--force'"],
  ] as const)('with %s ends with status 2 and leaves the file alone', async (_, args, words) => {
    const before = ['second.json', 'build.json', 'there.json'].map(text);
    const { status, stdout, stderr } = await standoff(folder, ...args, '--resume');
    expect([status, stdout, stderr]).toEqual([2, '', expect.stringContaining(words)]);
    expect(['second.json', 'build.json', 'there.json'].map(text)).toEqual(before);
  });

  it('is offered where a result exists and was not to be overwritten', async () => {
    const { status, stderr } = await standoff(folder, ...LINE, '--out', 'there.json');
    expect([status, stderr]).toEqual([2, expect.stringMatching(/there\.json exists\n.*--resume.*--force/)]);
    expect(text('there.json')).toBe('mine\n');
  });

  it('is no use in a folder that does not exist, which is told before anything is run', async () => {
    const { status, stdout, stderr } = await standoff(folder, ...LINE, '--out', 'nowhere/a.json', '--resume');
    expect([status, stdout, stderr]).toEqual([2, '', expect.stringContaining('the folder nowhere does not exist')]);
  });
});

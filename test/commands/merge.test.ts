import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { folderWith, SHORT_CUT, standoff } from './command.js';

const folder = folderWith({
  'cut.nc': SHORT_CUT,
  'there.json': 'mine\n',
  'later.json': '{"format":"standoff campaign 9"}',
});
const text = (name: string) => readFileSync(join(folder, name), 'utf8');
const FUZZ = ['fuzz', 'cut.nc', '--runs', '6', '--workers', '1'] as const;

beforeAll(async () => {
  for (const shard of [1, 2]) await standoff(folder, ...FUZZ, '--shard', `${shard}/2`, '--out', `s${shard}.json`);
  await standoff(folder, ...FUZZ, '--shard', '1/3', '--out', 'third.json');
  await standoff(folder, ...FUZZ, '--seed', '2', '--shard', '2/2', '--out', 'seed.json');
  await standoff(folder, ...FUZZ, '--out', 'one.json');
  const second = JSON.parse(text('s2.json'));
  writeFileSync(join(folder, 'build.json'), JSON.stringify({ ...second, simulator_sha256: 'another' }));
  writeFileSync(
    join(folder, 'old.json'),
    JSON.stringify({ ...JSON.parse(text('one.json')), simulator_sha256: 'another' }),
  );
  writeFileSync(join(folder, 'copy.json'), text('s1.json'));
  writeFileSync(join(folder, 'short.json'), text('s2.json').slice(0, 2000));
});

describe('standoff merge', () => {
  it('joins shards to what one run gives', async () => {
    const { status, stdout } = await standoff(folder, 'merge', 's2.json', 's1.json', '--out', 'joined.json');
    expect([status, stdout]).toEqual([0, expect.stringContaining('6 cuts tried')]);
    expect(text('joined.json')).toBe(text('one.json'));
  });

  it('stores the nearest misses as the single run does', async () => {
    await standoff(folder, ...FUZZ, '--cases', 'of-one');
    await standoff(folder, 'merge', 's1.json', 's2.json', '--cases', 'of-both');
    const stored = (name: string) => readdirSync(join(folder, name)).map((each) => [each, text(join(name, each))]);
    expect(stored('of-one').length).toBeGreaterThan(5);
    expect(stored('of-both')).toEqual(stored('of-one'));
  });

  it.each([
    ['a gap', ['s2.json'], 'cuts 0 to 2 of 6 are in none of the files'],
    ['a file twice', ['s1.json', 's2.json', 's1.json'], 's1.json was named twice'],
    ['a copy', ['s1.json', 's2.json', 'copy.json'], 'cuts 0 to 2 are in s1.json and in copy.json as well'],
    ['a shard of another division', ['s1.json', 's2.json', 'third.json'], 'cuts 0 to 1 are in'],
    ['another build', ['s1.json', 'build.json'], 'differ in the build of Standoff'],
    ['another campaign', ['s1.json', 'seed.json'], 'differ in the seed (1 and 2)'],
    ['a file that breaks off', ['s1.json', 'short.json'], 'short.json is damaged: it breaks off'],
    ['a file of something else', ['s1.json', 'cut.nc'], 'cut.nc is no result of standoff fuzz'],
    ['a result of a later version', ['later.json'], 'standoff campaign 9'],
    ['a file that is missing', ['s1.json', 'nowhere.json'], 'nowhere.json does not exist'],
    ['--cases of another build', ['old.json', '--cases', 'found'], 'another build of Standoff'],
  ] as const)('refuses %s with status 2 and a sentence, and writes nothing', async (_, args, words) => {
    const { status, stdout, stderr } = await standoff(folder, 'merge', ...args, '--out', 'refused.json');
    expect([status, stdout, stderr]).toEqual([2, '', expect.stringMatching(/^standoff: .*\n {2}\S.*\n$/)]);
    expect(stderr).toContain(words);
    expect(existsSync(join(folder, 'refused.json'))).toBe(false);
  });

  it.each([
    ['that exists', ['--out', 'there.json'], 'there.json exists'],
    ['that it reads, even with --force', ['--out', 's1.json', '--force'], 's1.json is a file that this command reads'],
    ['without a format', ['--out', 'joined.txt'], '.json'],
    ['in no folder', ['--out', 'nowhere/joined.json'], 'cannot be written'],
  ] as const)('refuses to write a file %s', async (_, args, words) => {
    const before = ['there.json', 's1.json'].map(text);
    const { status, stdout, stderr } = await standoff(folder, 'merge', 's1.json', 's2.json', ...args);
    expect([status, stdout, stderr]).toEqual([2, '', expect.stringContaining(words)]);
    expect(['there.json', 's1.json'].map(text)).toEqual(before);
  });
});

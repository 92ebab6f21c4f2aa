import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ended, folderWith, SHORT_CUT, standoff, start } from './command.js';

const folder = folderWith({
  'cut.nc': SHORT_CUT,
  'there.json': 'mine\n',
  'there.mmd': 'mine\n',
  'nonsense.json': '{"format":"something else"}',
  'later.json': '{"format":"standoff campaign 9"}',
  'module.bin': 'no module',
});
const text = (name: string) => readFileSync(join(folder, name), 'utf8');
const FEW = ['--runs', '6', '--workers', '1'] as const;

describe('standoff fuzz', () => {
  it('prints a row for each law, the ranges and what it does not say, within 60 columns on a pipe', async () => {
    const { status, stdout, stderr } = await standoff(folder, 'fuzz', 'cut.nc', ...FEW);
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).toContain('6 cuts tried (seed 1');
    expect(stdout).toContain('no law was broken');
    expect(stdout).toContain('Ranges:');
    expect(stdout.replace(/\s+/g, ' ')).toContain('It says nothing about what lies outside them');
    expect(stdout).not.toContain('\u001b');
  });

  it('fits a narrow terminal', async () => {
    const { stdout } = await ended(start(folder, ['fuzz', 'cut.nc', ...FEW], { COLUMNS: '40' }));
    expect(stdout).toContain('6 cuts tried');
  });

  it('prints JSON and nothing else, the same as it writes', async () => {
    const { status, stdout } = await standoff(folder, 'fuzz', 'cut.nc', ...FEW, '--json', '--out', 'all.json');
    expect(status).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({ format: 'standoff campaign 1', runs: 6, covered: [[0, 6]] });
    expect(text('all.json')).toBe(stdout);
  });

  it('stores the nearest misses, which can be cut again', async () => {
    const { stdout } = await standoff(folder, 'fuzz', 'cut.nc', ...FEW, '--cases', 'cases');
    expect(stdout).toMatch(/nearest misses in cases/);
    const again = await standoff(folder, 'fuzz', '--reproduce', 'cases', '--json');
    expect(again.status).toBe(0);
    expect(JSON.parse(again.stdout).results.length).toBeGreaterThan(5);
    const refused = await standoff(folder, 'fuzz', 'cut.nc', ...FEW, '--cases', 'cases');
    expect([refused.status, refused.stderr]).toEqual([2, expect.stringContaining('--force')]);
  });

  it('joins shards to what one run gives, and refuses a gap', async () => {
    for (const shard of [1, 2]) {
      await standoff(folder, 'fuzz', 'cut.nc', ...FEW, '--shard', `${shard}/2`, '--out', `shard${shard}.json`);
    }
    await standoff(folder, 'fuzz', 'cut.nc', ...FEW, '--out', 'one.json');
    const joined = await standoff(folder, 'merge', 'shard2.json', 'shard1.json', '--out', 'joined.json');
    expect(joined.status).toBe(0);
    expect(text('joined.json')).toBe(text('one.json'));
    const gap = await standoff(folder, 'merge', 'shard2.json', '--out', 'gap.json');
    expect([gap.status, gap.stderr]).toEqual([2, expect.stringContaining('cases 0 to 2 of 6')]);
    expect(existsSync(join(folder, 'gap.json'))).toBe(false);
    const twice = await standoff(folder, 'merge', 'shard1.json', 'shard1.json');
    expect([twice.status, twice.stderr]).toEqual([2, expect.stringContaining('in two of the files')]);
  });

  it('broken off by Ctrl-C leaves a result that says what it covers, and goes on from there', async () => {
    const child = start(folder, ['fuzz', 'cut.nc', '--runs', '96', '--workers', '1', '--out', 'part.json']);
    // The first chunk is under way when the worker thread has been started; Ctrl-C then waits for its end.
    setTimeout(() => child.kill('SIGINT'), 2500);
    const broken = await ended(child);
    const part = JSON.parse(text('part.json'));
    // On a machine that was quick enough there was nothing left to break off.
    const whole = JSON.stringify(part.covered) === '[[0,96]]';
    expect(broken.status).toBe(whole ? 0 : 130);
    if (!whole) expect(broken.stdout).toContain('these were not tried');
    const resumed = await standoff(folder, 'fuzz', '--resume', 'part.json', '--workers', '1');
    expect(resumed.status).toBe(0);
    await standoff(folder, 'fuzz', 'cut.nc', '--runs', '96', '--workers', '2', '--out', 'unbroken.json');
    expect(text('part.json')).toBe(text('unbroken.json'));
  });

  it('searches along the margin of one law', async () => {
    const { status, stdout } = await standoff(folder, 'fuzz', 'cut.nc', '--search', 'floor', '--runs', '8', '--json');
    expect(status).toBe(0);
    expect(JSON.parse(stdout)[0]).toMatchObject({ law: { name: 'floor' }, cuts: 8 });
  });
});

describe('standoff map', () => {
  it('draws two parameters, with a centre and the room around it, and writes what it draws', async () => {
    const args = ['map', 'cut.nc', '--x', 'gain_p_per_s=15:30', '--y', 'gain_i_per_s2=40:80', '--steps', '3'];
    const { status, stdout } = await standoff(folder, ...args, '--cuts', '1', '--workers', '1', '--out', 'map.svg');
    expect(status).toBe(0);
    expect(stdout).toContain('gain_p_per_s');
    expect(text('map.svg')).toMatch(/^<svg /);
    const again = await standoff(folder, ...args, '--cuts', '1', '--out', 'map.svg');
    expect([again.status, again.stderr]).toEqual([2, expect.stringContaining('--force')]);
  });
});

describe('bad input ends with status 2, a sentence and a remedy, and leaves files alone', () => {
  const cases: readonly (readonly [name: string, args: readonly string[], ...words: string[]])[] = [
    ['a program that is missing', ['fuzz', 'nowhere.nc'], 'nowhere.nc', 'does not exist'],
    ['no cuts', ['fuzz', '--runs', '0'], '--runs', 'from 1 to'],
    ['a shard that is none', ['fuzz', '--shard', '3/2'], '3/2', '2/8'],
    ['a range upside down', ['fuzz', '--range', 'world.sheet.wave_mm=3:1'], '3 is above 1'],
    ['a range of nothing', ['fuzz', '--range', 'world.sheet.wawe_mm=1:3'], 'wawe_mm', 'standoff schema'],
    ['a law that is none', ['fuzz', '--search', 'flor', '--runs', '4'], 'flor', 'floor'],
    ['a result that exists', ['fuzz', '--out', 'there.json'], 'there.json', '--force'],
    ['a result without a format', ['fuzz', '--out', 'result.txt'], 'result.txt', '.json'],
    ['no result to go on with', ['fuzz', '--resume', 'nowhere.json'], 'nowhere.json', 'does not exist'],
    ['another seed to go on with', ['fuzz', '--resume', 'nonsense.json'], 'nonsense.json', 'no campaign'],
    ['a result of a later version', ['merge', 'later.json'], 'standoff campaign 9', 'standoff campaign 1'],
    ['something else to merge', ['merge', 'cut.nc'], 'cut.nc', 'no JSON'],
    ['no folder of stored runs', ['fuzz', '--reproduce', 'nowhere'], 'nowhere', 'does not exist'],
    ['a map without an axis', ['map', '--x', 'gain_p_per_s'], '--y'],
    ['a map of nothing', ['map', '--x', 'gain_q', '--y', 'gain_p_per_s'], 'gain_q'],
    ['a map of one parameter', ['map', '--x', 'gain_p_per_s', '--y', 'gain_p_per_s'], 'two different'],
    [
      'a map without a format',
      ['map', '--x', 'gain_p_per_s', '--y', 'gain_i_per_s2', '--out', 'a.png'],
      'a.png',
      '.svg',
    ],
    ['a graph that exists', ['explore', '--graph', 'there.mmd'], 'there.mmd', '--force'],
    ['a graph without a format', ['explore', '--graph', 'modes.png'], 'modes.png', '.mmd'],
    ['no module', ['explore', '--module', 'nowhere.wasm'], 'nowhere.wasm'],
    ['a module that is none', ['explore', '--module', 'module.bin'], 'module.bin'],
  ];

  it.each(cases)('%s', async (_, args, ...words) => {
    const { status, stdout, stderr } = await standoff(folder, ...args);
    expect([status, stdout]).toEqual([2, '']);
    const said = stderr.replace(/\s+/g, ' ');
    for (const word of words) expect(said).toContain(word);
    expect([text('there.json'), text('there.mmd')]).toEqual(['mine\n', 'mine\n']);
  });
});

import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { brokenRequirements, CaseRunner, caseScenario, rangesAround, SHORT_CUTS } from '../../sim/campaign/index.js';
import { defaultSetup, writeScenario } from '../../sim/run/setup/index.js';
import { ended, folderWith, SHORT_CUT, standoff, start } from './command.js';

const folder = folderWith({
  'cut.nc': SHORT_CUT,
  'there.mmd': 'mine\n',
  'module.bin': 'no module',
});
const text = (name: string) => readFileSync(join(folder, name), 'utf8');
const FEW = ['--runs', '6', '--workers', '1'] as const;

describe('standoff fuzz', () => {
  it('prints a row for each requirement, the ranges and what it does not say, within 60 columns on a pipe', async () => {
    const { status, stdout, stderr } = await standoff(folder, 'fuzz', 'cut.nc', ...FEW);
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).toContain('6 cuts tried (seed 1');
    expect(stdout.replace(/\s+/g, ' ')).toContain('Found: in 6 cuts no requirement was broken');
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
    expect(JSON.parse(stdout)).toMatchObject({ format: 'standoff campaign 6', runs: 6, covered: [[0, 6]] });
    expect(text('all.json')).toBe(stdout);
  });

  it('says the same whatever the number of threads', async () => {
    const text = async (workers: string) =>
      (await standoff(folder, 'fuzz', 'cut.nc', '--runs', '96', '--seed', '5', '--workers', workers)).stdout;
    expect(await text('2')).toBe(await text('1'));
  });

  it('judges a stored run as the campaign did: contact that no box could have kept is told, not counted', async () => {
    const setup = defaultSetup();
    const campaign = { setup, ranges: rangesAround(setup), programs: [SHORT_CUTS[0]], seed: 1 };
    const runner = new CaseRunner(campaign);
    const index = Array.from({ length: 2000 }, (_, at) => at).find((at) => {
      const one = runner.caseOf(at);
      const { requirements, stop } = runner.judge(at, one);
      return stop !== null && brokenRequirements(requirements, runner.causesOf(one)).beyond.length > 0;
    })!;
    mkdirSync(join(folder, 'beyond'));
    const scenario = caseScenario(setup, runner.caseOf(index), runner.programOf(index));
    writeFileSync(join(folder, 'beyond', 'contact.yaml'), writeScenario(scenario));
    const { status, stdout } = await standoff(folder, 'fuzz', '--reproduce', 'beyond');
    // Not a broken requirement; that the fault ended the cut is said, and changes no status.
    expect(status).toBe(0);
    const said = stdout.replace(/\s+/g, ' ');
    expect(said).toMatch(
      /no-contact not kept, which no box could have \*; stopped by the (box|operator|clock), [a-z-]+/,
    );
    expect(said).toContain('1 of them stopped before the end of the program.');
    expect(said).toContain('1 stored run cut again: no requirement was broken.');
  });

  it('stores the nearest misses, which can be cut again', async () => {
    const runs = ['--runs', '12', '--workers', '1'];
    const { stdout } = await standoff(folder, 'fuzz', 'cut.nc', ...runs, '--cases', 'cases');
    expect(stdout).toMatch(/nearest misses in cases/);
    expect(stdout).toMatch(/See it: standoff simulate --scenario cases\/near-(?:floor|no-contact)\.yaml/);
    expect(text('cases/near-floor.yaml')).toMatch(/^# nearest to breaking floor: [\d.]+ mm left\n/);
    // It says never: there is no distance, so no cut came nearest.
    expect(existsSync(join(folder, 'cases/near-hand-back.yaml'))).toBe(false);
    const again = await standoff(folder, 'fuzz', '--reproduce', 'cases', '--json');
    const { results } = JSON.parse(again.stdout) as { results: { broken: string[]; stop: object | null }[] };
    expect(results.length).toBeGreaterThan(5);
    expect(results.flatMap(({ broken }) => broken)).toEqual([]);
    // Near misses hold faults, and a fault ends a cut early.
    expect(results.some(({ stop }) => stop !== null)).toBe(true);
    expect(again.status).toBe(0);
    const refused = await standoff(folder, 'fuzz', 'cut.nc', ...FEW, '--cases', 'cases');
    expect([refused.status, refused.stderr]).toEqual([2, expect.stringContaining('--force')]);
  });

  it('searches along the margin of one requirement', async () => {
    const { status, stdout } = await standoff(folder, 'fuzz', 'cut.nc', '--search', 'floor', '--runs', '8', '--json');
    expect(status).toBe(0);
    const { format, results } = JSON.parse(stdout);
    expect(format).toBe('standoff search 2');
    expect(results).toMatchObject([{ requirement: 'floor', unit: 'mm', cuts: 8, best: { requirement: 'floor' } }]);
  });

  it('searches for a missed quality goal as well, which breaks nothing', async () => {
    const gain = ['--set', 'gain_p_per_s=0.5', '--range', 'faults=0', '--range', 'operator=0'];
    const args = ['fuzz', 'cut.nc', '--search', 'following-rms', '--runs', '8', '--json', ...gain];
    const { status, stdout } = await standoff(folder, ...args);
    expect(status).toBe(0);
    const [{ kind, best }] = JSON.parse(stdout).results;
    expect(kind).toBe('goal');
    expect(best.broken_at).toBeGreaterThan(0);
  });
});

describe('standoff map', () => {
  it('draws two parameters, with a centre and the room around it, and writes what it draws', async () => {
    // A world as the setup has it, and a box that knows it: there a pair can meet its goals.
    const setup = defaultSetup();
    const stated = rangesAround(setup)
      .numbers.filter(({ path }) => !path.startsWith('box.') && path !== 'machine.supply.phases')
      .map(
        ({ path, nominal }) =>
          `${path}=${path.endsWith('.wave_mm') ? 0.5 : nominal}:${path.endsWith('.wave_mm') ? 0.5 : nominal}`,
      );
    const known = [...stated, 'arc_slope_V_per_mm=4:4'].flatMap((range) => ['--range', range]);
    const gains = ['--x', 'gain_p_per_s=16:20', '--y', 'gain_i_per_s2=60:80', '--steps', '3'];
    const args = ['map', 'cut.nc', ...gains, '--set', 'target_learned=0', ...known];
    const { status, stdout } = await standoff(folder, ...args, '--cuts', '1', '--workers', '1', '--out', 'map.svg');
    expect(status).toBe(0);
    expect(stdout).toContain('gain_p_per_s');
    expect(text('map.svg')).toMatch(/^<svg /);
    expect(stdout.replace(/\s+/g, ' ')).toContain('--cuts 1 --store better.yaml');
    const stored = await standoff(folder, ...args, '--cuts', '1', '--store', 'better.yaml');
    expect(stored.stdout).toContain('--setup better.yaml');
    const middle = /Its middle \[ \]: gain_p_per_s ([\d.]+) /.exec(stdout.replace(/\s+/g, ' '))![1];
    expect(text('better.yaml')).toMatch(/^box:\n/);
    // A value that is the default is not written.
    if (middle !== '22') expect(text('better.yaml')).toContain(`gain_p_per_s: ${middle}\n`);
    const again = await standoff(folder, ...args, '--cuts', '1', '--out', 'map.svg');
    expect([again.status, again.stderr]).toEqual([2, expect.stringContaining('--force')]);
  });
});

describe('a map of worlds that disagree with the box', () => {
  it('has no region where no pair keeps its goals, and writes no setup', async () => {
    const args = ['map', 'cut.nc', '--x', 'gain_p_per_s=15:30', '--y', 'gain_i_per_s2=80:320', '--steps', '3'];
    const { stdout } = await standoff(folder, ...args, '--cuts', '2', '--store', 'none.yaml');
    const said = stdout.replace(/\s+/g, ' ');
    expect(said).toContain('Cut, in turn: cut.nc.');
    expect(said).toContain(
      'There is no region: no pair keeps every requirement in every cut and meets the quality goals',
    );
    expect(said).toContain('No setup was written: there is no middle.');
    expect(existsSync(join(folder, 'none.yaml'))).toBe(false);
  });
});

describe('bad input ends with status 2, a sentence and a remedy, and leaves files alone', () => {
  const cases: readonly (readonly [name: string, args: readonly string[], ...words: string[]])[] = [
    ['a program that is missing', ['fuzz', 'nowhere.nc'], 'nowhere.nc', 'does not exist'],
    ['no cuts', ['fuzz', '--runs', '0'], '--runs', 'from 1 to'],
    ['a shard that is none', ['fuzz', '--shard', '3/2'], '3/2', '2/8'],
    ['a range upside down', ['fuzz', '--range', 'world.sheet.wave_mm=3:1'], '3 is above 1'],
    ['a range of nothing', ['fuzz', '--range', 'world.sheet.wawe_mm=1:3'], 'wawe_mm', 'did you mean'],
    ['a range of nearly nothing', ['fuzz', '--range', 'wave_mm=1:3'], 'did you mean world.sheet.wave_mm'],
    ['a range twice', ['fuzz', '--range', 'pierce_ms=1:3', '--range', 'pierce_ms=4:5'], 'pierce_ms twice'],
    [
      'ranges that contradict each other',
      ['fuzz', '--range', 'pierce_height_mm=1:2', '--range', 'cut_height_mm=3:4'],
      'box.cut_height_mm (3 mm) is above box.pierce_height_mm (1 mm)',
    ],
    ['a result in a folder that is none', ['fuzz', '--out', 'nowhere/a.json'], 'nowhere', 'does not exist'],
    ['a result in a file', ['fuzz', '--out', 'cut.nc/a.json'], 'cut.nc', 'no folder'],
    ['cases into a file', ['fuzz', '--cases', 'cut.nc'], 'cut.nc', 'no folder'],
    [
      'cases where no folder can be',
      ['fuzz', '--cases', '/proc/cases/found'],
      '/proc/cases/found',
      'cannot be written',
    ],
    ['stored runs that are a file', ['fuzz', '--reproduce', 'cut.nc'], 'cut.nc', 'no folder'],
    ['stored runs with another seed', ['fuzz', '--reproduce', '.', '--seed', '3'], '--seed', 'was given as well'],
    ['a map of no program', ['map', 'there.mmd', '--x', 'gain_p_per_s', '--y', 'gain_i_per_s2'], 'there.mmd:1:1'],
    [
      'a map into a folder that is none',
      ['map', '--x', 'gain_p_per_s', '--y', 'gain_i_per_s2', '--out', 'nowhere/a.svg'],
      'nowhere',
      'does not exist',
    ],
    [
      'a map over the world',
      ['map', '--x', 'world.sheet.wave_mm=0:2', '--y', 'gain_i_per_s2'],
      'world.sheet.wave_mm is not in the box',
    ],
    [
      'a map of contradictions',
      ['map', '--x', 'pierce_height_mm=1:2', '--y', 'cut_height_mm=3:4'],
      'for every pair box.cut_height_mm (3 mm) is above',
    ],
    ['a requirement that is none', ['fuzz', '--search', 'flor', '--runs', '4'], 'flor', 'floor'],
    ['a search with a result', ['fuzz', '--search', 'floor', '--out', 'a.json', '--shard', '1/2'], '--shard and --out'],
    ['a search with cases in a file', ['fuzz', '--search', 'floor', '--cases', 'cut.nc'], 'cut.nc', 'no folder'],
    ['a result without a format', ['fuzz', '--out', 'result.txt'], 'result.txt', '.json'],
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
    expect(text('there.mmd')).toBe('mine\n');
  });
});

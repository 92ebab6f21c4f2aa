import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import {
  defaultSetup,
  FIRST_QUESTIONS,
  firstRow,
  readSetup,
  setupWarnings,
  statedPaths,
} from '../../sim/run/setup/index.js';
import { ended, folderWith, SHORT_CUT, standoff, start } from './command.js';

const folder = folderWith({});
const init = (...args: readonly string[]) => standoff(folder, 'init', ...args);
const text = (...names: readonly string[]) => readFileSync(join(folder, ...names), 'utf8');
const flat = (said: string) => said.replace(/\s+/g, ' ');

/** Answers that are not the defaults, one for each question. */
const ANSWERS: Readonly<Record<string, string>> = {
  'thickness-mm': '5',
  'sheet-width-mm': '300',
  'sheet-height-mm': '200 mm',
  'x-steps-per-mm': '80',
  'y-steps-per-mm': '88.8',
  'z-steps-per-mm': '320',
  'permit-watched': 'n',
  'cut-A': '45',
  'feed-mm-min': '1800',
  'cut-height-mm': '1.8',
  'pierce-height-mm': '4',
  'pierce-ms': '700 ms',
  'arc-V': '124',
  'u0-V': '300',
  'rated-A': '50',
  'duty-percent': '40',
  'mains-Hz': '60',
};
const ALL = Object.entries(ANSWERS).flatMap(([option, value]) => [`--${option}`, value]);

describe('standoff init', () => {
  it('writes what was answered, and box, machine and world agree', async () => {
    const { status, stdout, stderr } = await init('known', ...ALL);
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).not.toContain('Not known yet');
    const setup = readSetup(text('known', 'standoff.yaml'), 'standoff.yaml');
    expect(setupWarnings(setup)).toEqual([]);
    expect(setup.box).toMatchObject({ cut_height_mm: 1.8, target_feed_mm_s: 30, target_V: 124, z_steps_per_mm: 320 });
    expect(setup.machine.table).toMatchObject({ sheet_width_mm: 300, y_steps_per_mm: 88.8, permit_watched: false });
    expect(setup.machine.supply).toMatchObject({ no_load_V: 300, cut_A: 45, mains_Hz: 60 });
    const stated = statedPaths(text('known', 'standoff.yaml'), 'standoff.yaml');
    expect([...stated].sort()).toEqual(FIRST_QUESTIONS.flatMap(({ paths }) => paths).sort());
  });

  it('writes a program that cuts, in a folder where the setup is found and named', async () => {
    await init('cuts', ...ALL);
    const { status, stdout, stderr } = await standoff(join(folder, 'cuts'), 'simulate', 'first.nc', '--json');
    expect(stderr).toBe('standoff: setup standoff.yaml, found in this folder; --setup names another\n');
    const { verdict, contours, warnings } = JSON.parse(stdout);
    expect([status, verdict.word]).toEqual([0, 'finished']);
    expect(contours).toHaveLength(2);
    expect(warnings).toEqual([]);
  });

  it('marks what nobody knows yet, says where to look, and supply does not take the default for an answer', async () => {
    const { status, stdout } = await init('unknown', '--arc-V', '?');
    expect(status).toBe(0);
    expect(flat(stdout)).toContain('No-load voltage (U0)? See the data plate.');
    expect(text('unknown', 'standoff.yaml')).toMatch(/# no_load_V: 280 V {3}# NOT KNOWN YET: see the data plate/);
    expect(statedPaths(text('unknown', 'standoff.yaml'), 'standoff.yaml').size).toBe(0);
    const supply = await standoff(join(folder, 'unknown'), 'supply', '--json');
    expect([supply.status, JSON.parse(supply.stdout).verdict]).toEqual([5, 'not known yet']);
    // Every line that is marked is right once its # is gone.
    const all = text('unknown', 'standoff.yaml').replace(/^( +)# (\w+: [^#]+)# NOT KNOWN.*/gm, '$1$2');
    expect(statedPaths(all, 'all.yaml').size).toBe(FIRST_QUESTIONS.flatMap(({ paths }) => paths).length);
    expect(readSetup(all, 'all.yaml')).toEqual(defaultSetup());
  });

  it.each([
    [{ 'sheet-width-mm': '20', 'sheet-height-mm': '20' }, 1],
    [{ 'sheet-width-mm': '110', 'sheet-height-mm': '75' }, 2],
    [{ 'sheet-width-mm': '3000', 'sheet-height-mm': '2000', 'feed-mm-min': '600' }, 2],
  ] as const)('has a program for a sheet of %j', async (answers, contours) => {
    const args = Object.entries(answers).flatMap(([option, value]) => [`--${option}`, value]);
    const name = `sheet${answers['sheet-width-mm']}`;
    expect((await init(name, ...args)).status).toBe(0);
    const { stdout } = await standoff(join(folder, name), 'simulate', 'first.nc', '--json');
    const { verdict, ...summary } = JSON.parse(stdout);
    expect([verdict.word, summary.contours.length], JSON.stringify(verdict.stop)).toEqual(['finished', contours]);
  });

  it.each([
    ['a number that is none', ['--arc-V', 'many'], '--arc-V many'],
    ['another unit', ['--arc-V', '120 A'], 'V'],
    ['a value out of range', ['--sheet-width-mm', '7000'], '3000'],
    ['neither yes nor no', ['--permit-watched', 'perhaps'], 'neither yes nor no'],
    ['heights that contradict each other', ['--cut-height-mm', '5', '--pierce-height-mm', '3'], 'pierce_height_mm'],
  ] as const)('refuses %s, and writes nothing', async (_name, args, word) => {
    const { status, stderr } = await init('refused', ...args);
    expect(status).toBe(2);
    expect(stderr).toContain(word);
    expect(existsSync(join(folder, 'refused'))).toBe(false);
  });

  it('writes over nothing without --force', async () => {
    await init('twice');
    writeFileSync(join(folder, 'twice', 'first.nc'), 'mine\n');
    const { status, stderr } = await init('twice', '--thickness-mm', '4');
    expect([status, stderr]).toEqual([2, expect.stringContaining('--force')]);
    expect(text('twice', 'first.nc')).toBe('mine\n');
    expect((await init('twice', '--force')).status).toBe(0);
  });

  it('has a question, a range and a place to look for each option', () => {
    for (const one of FIRST_QUESTIONS) {
      const { kind, min, max } = firstRow(one);
      expect(one.where, one.option).not.toBe('');
      if (kind !== 'boolean') expect(max, one.option).toBeGreaterThan(min);
    }
    expect(Object.keys(ANSWERS)).toEqual(FIRST_QUESTIONS.map(({ option }) => option));
  });

  it('does not wait for answers on a pipe', async () => {
    const child = start(folder, ['init', 'piped']);
    const { status } = await ended(child);
    expect(status).toBe(0);
    expect(readdirSync(join(folder, 'piped')).sort()).toEqual(['first.nc', 'standoff.yaml']);
  });
});

describe('a setup that is found', () => {
  const found = folderWith({
    'standoff.yaml': 'machine:\n  table: { sheet_width_mm: 90 }\n',
    'other.yaml': 'box:\n',
    'cut.nc': SHORT_CUT,
  });

  it('counts as if it had been named, and less than one that is', async () => {
    const small = await standoff(found, 'simulate', 'cut.nc', '--json');
    expect([small.status, small.stderr]).toEqual([2, expect.stringContaining('beyond the right edge')]);
    const other = await standoff(found, 'simulate', 'cut.nc', '--json', '--setup', 'other.yaml');
    expect([other.status, other.stderr]).toEqual([0, '']);
  });

  it('is never written over by the command that read it', async () => {
    const { status, stderr } = await standoff(found, 'divider', '--store', 'standoff.yaml', '--force');
    expect([status, stderr]).toEqual([2, expect.stringContaining('a file that this command reads')]);
  });
});

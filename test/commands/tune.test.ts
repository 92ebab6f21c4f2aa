import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type Difference, type TuneConclusion, type Tuning, tuneJsonSchema } from '../../sim/campaign/index.js';
import { tuneText } from '../../sim/commands/prove/tune-text.js';
import { ended, folderWith, SHORT_CUT, standoff, start } from './command.js';

const folder = folderWith({
  'cut.nc': SHORT_CUT,
  'there.yaml': 'box:\n',
  'mine.yaml': 'box:\n  gain_p_per_s: 4 # lazy\n',
});
const text = (name: string) => readFileSync(join(folder, name), 'utf8');
const flat = (page: string) => page.replace(/\s+/g, ' ');

const figure = (before: number, after: number, verdict: Difference['verdict']): Difference => {
  return { before, after, low: after - before - 0.1, high: after - before + 0.1, verdict };
};
const summary = (finished: number, goals_met: number) => {
  return { cuts: 64, finished, stops: { travel: 64 - finished }, goals_met, broken: [] };
};
const same = {
  error_mm: figure(0.3, 0.29, 'chance'),
  least_standoff_mm: figure(1, 1, 'chance'),
  finished: figure(0.5, 0.5, 'chance'),
};
const tuning = (conclusion: TuneConclusion, changes: Partial<Tuning> = {}): Tuning => ({
  conclusion,
  parameters: [
    { name: 'gain_p_per_s', unit: '1/s', present: 22, found: 28 },
    { name: 'smoothing_ms', unit: 'ms', present: 5, found: 5 },
  ],
  points: 12,
  search_cuts: 32,
  present: summary(40, 3),
  found: summary(41, 4),
  comparison: same,
  neighbours: [
    { name: 'gain_p_per_s', value: 22.4, lacks: null, ratio: 1.04 },
    { name: 'gain_p_per_s', value: 35, lacks: 'error', ratio: 1.4 },
  ],
  causes: [{ name: 'backlash', comparison: same }],
  ...changes,
});
const request = {
  program: 'gate.nc',
  block_delete: false,
  setup: 'mara.yaml',
  set: ['pierce_ms=400'],
  range: ['wave_mm=0:1'],
  name: 'gate.nc',
  seed: 1,
  args: ['tune', 'gate.nc'],
  write: undefined,
};
const page = (one: Tuning, columns = 60, changes: Partial<Parameters<typeof tuneText>[1]> = {}) =>
  tuneText(one, { ...request, ...changes }, { columns, unicode: false, colour: false, live: false });

describe('the page of a tuning', () => {
  it.each([
    ['chance', 'no difference beyond chance between the present values and the best'],
    ['nothing-better', 'Of 12 sets of values none was better than the present one'],
    ['no-room', 'have no room: with gain_p_per_s 35 the standoff is held more than a quarter worse'],
    [
      'few-finished',
      'Too few cuts finish with both to compare anything: of 64 with the best that were found 41 (stopped: travel 23).',
    ],
  ] as const)('%s: proposes nothing and says why, in 60 columns', (conclusion, words) => {
    const lines = page(tuning(conclusion), 60, { write: 'a.yaml' });
    expect(flat(lines)).toContain('No values are proposed');
    expect(flat(lines)).toContain(words);
    expect(flat(lines)).toContain('a.yaml was not written: there is no proposal.');
    expect(flat(lines)).not.toContain('--set gain_p_per_s');
    expect(Math.max(...lines.split('\n').map((line) => line.length))).toBeLessThanOrEqual(60);
    // The tables stay tables.
    expect(lines).toMatch(/^error, mm {2,}0\.300 {2,}0\.290 {2,}-0\.110 to 0\.090 {2}chance$/m);
    expect(lines).toMatch(/^gain_p_per_s 1\/s {2,}22 {2,}28 {2,}22\.4 room {2,}35 no room$/m);
  });

  it('says what is proposed, what it brings, and what to type; a range goes to fuzz and not to simulate', () => {
    const comparison = { ...same, error_mm: figure(0.5, 0.3, 'better') };
    const lines = flat(page(tuning('proposed', { comparison })));
    expect(lines).toContain('gain_p_per_s=28: better beyond chance in standoff error');
    expect(lines).toContain('gains alone do not');
    const same_input = 'gate.nc --setup mara.yaml --set pierce_ms=400';
    expect(lines).toContain(`standoff simulate ${same_input} --set gain_p_per_s=28 `);
    expect(lines).toContain(`standoff fuzz ${same_input} --range wave_mm=0:1 --set gain_p_per_s=28 `);
    expect(lines).toContain('standoff tune gate.nc --write better.yaml');
    const enough = page(tuning('proposed', { comparison, found: summary(60, 40) }), 60, { write: 'a.yaml' });
    expect(flat(enough)).not.toContain('gains alone do not');
    expect(flat(enough)).toContain('a.yaml is the setup with these values.');
  });

  it('names a requirement that is broken, and in how many cuts', () => {
    const broken = [3, 3, 9].map((cut) => ({ cut, requirement: cut === 9 ? 'floor' : 'no-contact' }));
    const lines = flat(page(tuning('broken', { found: { ...summary(60, 0), broken } })));
    expect(lines).toContain('broken with the best that were found: no-contact, floor, in 2 cuts of 64.');
    expect(lines).toMatch(/broken 0 of 64 2 of 64/);
  });

  it('says what would help instead, or that no cause does, and where to look', () => {
    const lines = flat(page(tuning('chance')));
    expect(lines).toContain(
      'Of 1 cause none, taken out of the worlds alone, makes a difference beyond chance: backlash.',
    );
    expect(lines).toContain('The largest of them, by chance or not: backlash, 0.290 mm');
    const helps = { ...same, error_mm: figure(0.5, 0.3, 'better'), finished: figure(0.5, 0.6, 'better') };
    const more = page(tuning('chance', { causes: [...tuning('chance').causes, { name: 'noise', comparison: helps }] }));
    expect(flat(more)).toContain(
      'With no noise, ripple, pickup or impulses in the reading: standoff error 0.300 instead of 0.500 mm, cuts that finish 60 instead of 50 %. To do: shorten',
    );
    expect(flat(more)).toContain('The other causes tried make no difference beyond chance: backlash.');
  });
});

describe('standoff tune', () => {
  /** Within these limits there is no other value: only the present ones and the causes are cut. */
  const few = ['--cuts', '8', '--vary', 'gain_p_per_s=20:25'];

  it('prints JSON of its schema and nothing else, the same with any number of threads, and writes nothing unasked', async () => {
    const one = await standoff(folder, 'tune', 'cut.nc', ...few, '--json', '--workers', '1');
    expect(one.stderr).toBe('');
    const found = JSON.parse(one.stdout);
    const { required } = tuneJsonSchema() as { required: string[] };
    expect(Object.keys(found).sort()).toEqual(required.toSorted());
    expect(found).toMatchObject({ format: 'standoff tune 1', program: 'cut.nc', seed: 1, search_cuts: 4 });
    expect(found.causes).toHaveLength(8);
    const breaks = found.present.broken.length + found.found.broken.length > 0;
    expect(one.status).toBe(breaks ? 1 : 0);
    const two = await standoff(folder, 'tune', 'cut.nc', ...few, '--json', '--workers', '2', '--write', 'new.yaml');
    expect(two.stdout).toBe(one.stdout);
    expect([found.conclusion, found.points]).toEqual(['few-finished', 1]);
    expect(existsSync(join(folder, 'new.yaml'))).toBe(false);
  });

  it('writes the setup with what it proposes, and the rest as it was', async () => {
    const wavy = ['wave_mm=1:1', 'wave_length_mm=150:150', 'wave_direction_deg=0:0'].map(
      (word) => `world.sheet.${word}`,
    );
    const args = [
      'tune',
      'cut.nc',
      '--setup',
      'mine.yaml',
      '--set',
      'gain_i_per_s2=5',
      '--vary',
      'gain_p_per_s',
      '--cuts',
      '14',
    ];
    const found = await standoff(
      folder,
      ...args,
      ...wavy.flatMap((word) => ['--range', word]),
      '--write',
      'better.yaml',
    );
    expect(flat(found.stdout)).toContain('better.yaml is the setup with these values.');
    const value = /gain_p_per_s=([\d.]+)/.exec(found.stdout)![1];
    expect(text('better.yaml')).toContain(`  gain_p_per_s: ${value} # lazy\n`);
    expect(text('mine.yaml')).toBe('box:\n  gain_p_per_s: 4 # lazy\n');
  });

  it('broken off by Ctrl-C proposes nothing and ends with 130', async () => {
    const child = start(folder, ['tune', '--cuts', '2000', '--write', 'off.yaml']);
    // Its first line says that the cuts have begun.
    child.stderr!.once('data', () => child.kill('SIGINT'));
    const { status, stdout, stderr } = await ended(child);
    expect([status, stdout]).toEqual([130, '']);
    expect(stderr).toMatch(
      /^\d+ of \d+ cuts at most\nstandoff: broken off after \d+ cuts; nothing is proposed, nothing was written\n$/,
    );
    expect(existsSync(join(folder, 'off.yaml'))).toBe(false);
  });

  it.each([
    [['--write', 'there.yaml'], 'there.yaml exists', 'writes over no file'],
    [['--write', 'new.txt'], 'new.txt', '.yaml'],
    [['--vary', 'gain_q'], 'gain_q', 'did you mean'],
    [['--vary', 'gain_p_per_s=0:50'], 'factors of the present value', 'a range above 0'],
    [['--vary', 'strike_retries'], 'whole numbers', 'standoff map'],
    [['--range', 'wave_mm=3:1'], 'wave_mm', 'did you mean'],
    [['--cuts', '7'], '--cuts', 'from 8 to'],
    [['nowhere.nc'], 'nowhere.nc', 'does not exist'],
  ])('refuses %s with a sentence and a remedy', async (args, ...words) => {
    const { status, stdout, stderr } = await standoff(folder, 'tune', ...args);
    expect([status, stdout]).toEqual([2, '']);
    for (const word of words) expect(flat(stderr)).toContain(word);
  });
});

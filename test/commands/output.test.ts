import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { tuneJsonSchema } from '../../sim/campaign/index.js';
import { simulateCommand, wantsLive } from '../../sim/commands/cut/simulate.js';
import { summaryJsonSchema } from '../../sim/run/job/index.js';
import { scenarioJsonSchema, setupJsonSchema } from '../../sim/run/setup/index.js';
import { refused } from '../run/setup/refused.js';
import { ended, folderWith, SHORT_CUT, standoff, start } from './command.js';

const folder = folderWith({ 'cut.nc': SHORT_CUT });
// biome-ignore lint/suspicious/noControlCharactersInRegex: the range is what ASCII is
const ASCII = /^[\x00-\x7f]*$/;
// biome-ignore lint/suspicious/noControlCharactersInRegex: escape sequences begin with one
const ESCAPE = /\x1b/;

describe('the report of standoff simulate', () => {
  it('shows a picture, contours, requirements and cautions where no terminal is', async () => {
    const { status, stdout, stderr } = await standoff(folder, 'simulate', 'cut.nc');
    expect([0, 1]).toContain(status);
    expect(stderr).toBe('');
    expect(stdout).toMatch(/[\u2801-\u28ff]/);
    for (const word of ['cut.nc', 'Contours', 'Requirements', 'Figures', 'licensed practice'])
      expect(stdout).toContain(word);
    expect(stdout).not.toMatch(ESCAPE);
  });

  it('says what was assumed, with units', async () => {
    const { stdout } = await standoff(folder, 'simulate', 'cut.nc', '--set', 'world.sheet.wave_mm=1.75');
    const tried = stdout.replaceAll(/\s+/g, ' ');
    for (const words of ['±1.75 mm over 250 mm', 'tilt 2 %', '4 V/mm', '1 V rms a tick'])
      expect(tried).toContain(words);
  });

  it.each([
    ['--plain', ['--plain'], {}],
    ['a locale without UTF-8', [], { LANG: 'C' }],
  ])('is pure ASCII with %s, notes included', async (_name, args, env) => {
    const changed = ['simulate', 'cut.nc', '--set', 'reading_gain_mV=90', ...args];
    const { stdout } = await ended(start(folder, changed, env));
    expect(stdout).toContain('note: box.reading_gain_mV');
    expect(stdout).toMatch(ASCII);
  });

  it('keeps errors in ASCII too', async () => {
    const { stderr } = await standoff(folder, 'simulate', '--plain', '--set', 'pierce_ms=9000');
    expect(stderr).toContain('0...5000 ms');
    expect(stderr).toMatch(ASCII);
  });

  it('ends quietly when its reader goes away', () => {
    const main = fileURLToPath(new URL('../../dist/sim/commands/main.js', import.meta.url));
    const pipe = `"${process.execPath}" "${main}" schema | head -n 1`;
    const { stdout, stderr } = spawnSync('sh', ['-c', pipe], { encoding: 'utf8' });
    expect(stdout).toBe('{\n');
    expect(stderr).toBe('');
  });
});

describe('standoff', () => {
  it.each([
    ['setup', ['schema'], setupJsonSchema],
    ['setup', ['schema', 'setup'], setupJsonSchema],
    ['scenario', ['schema', 'scenario'], scenarioJsonSchema],
    ['summary', ['schema', 'summary'], summaryJsonSchema],
    ['tuning', ['schema', 'tune'], tuneJsonSchema],
  ])('prints the JSON Schema of a %s', async (_name, args, schema) => {
    const { status, stdout } = await standoff(folder, ...args);
    expect(status).toBe(0);
    expect(JSON.parse(stdout)).toEqual(schema());
  });

  it('prints its version', async () => {
    const { version } = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8'));
    const { stdout, ...rest } = await standoff(folder, '--version');
    expect(rest).toEqual({ status: 0, stderr: '' });
    expect(stdout.split('\n')[0]).toBe(version);
  });

  it('helps with every option, on stdout, with status 0', async () => {
    const { status, stdout } = await standoff(folder, 'simulate', '--help');
    expect(status).toBe(0);
    for (const { long } of simulateCommand(() => {}).options) expect(stdout).toContain(long);
    expect(stdout).toContain('Exit status: 0');
    expect(stdout.split('\n').every((line) => line.length <= 100)).toBe(true);
  });
});

describe('the live view', () => {
  it.each([
    ['on a terminal', {}, true, true, true],
    ['not where it cannot redraw', {}, false, true, false],
    ['not when a still is asked for', { still: true as const }, true, true, false],
    ['not beside JSON', { json: true as const }, true, true, false],
    ['when asked for, even where CI is set', { live: true as const }, false, true, true],
  ])('is chosen %s', (_name, options, redrawable, terminal, live) => {
    expect(wantsLive(options, redrawable, terminal)).toBe(live);
  });

  it('is refused where no terminal is', () => {
    expect(refused(() => wantsLive({ live: true }, false, false)).code).toBe('no-terminal');
  });
});

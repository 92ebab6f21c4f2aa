import { existsSync, readFileSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { folderWith, SHORT_CUT, standoff } from './command.js';

const folder = folderWith({
  'cut.nc': SHORT_CUT,
  'empty.nc': '',
  'binary.nc': new Uint8Array([0x50, 0x4b, 3, 4, 0, 0, 0xff]),
  'truncated.nc': 'G21 G90\nG0 X50 Y50\nM3\nG1 X1',
  'word.nc': 'G21\nG0 X10 Y10\nQ7\nM2\n',
  'wide.nc': 'G21 G90\nG0 X500 Y50\nM3\nG1 X610 F3000\nM5\nM2\n',
  'good.yaml': 'box:\n  pierce_ms: 400 ms\n',
  'unit.yaml': 'box:\n  arc_slope_V_per_mm: 4 V/cm\n',
  'key.yaml': 'box:\n  pirece_ms: 400\n',
  'range.yaml': 'box:\n  pierce_ms: 9000\n',
  'empty.yaml': '',
  'binary.yaml': new Uint8Array([0xff, 0xfe, 0, 1]),
  'contradiction.yaml': 'box:\n  cut_height_mm: 4\n  pierce_height_mm: 3\n',
  'newer.yaml': 'format: standoff scenario 3\n',
  'run.yaml': 'format: standoff scenario 2\nseed: 1\nprogram: {name: cut.nc, text: "M2"}\n',
  'there.csv': 'mine\n',
  'there.yaml': 'mine\n',
});
symlinkSync('cut.nc', join(folder, 'cut.csv'));

type Case = readonly [name: string, args: readonly string[], ...words: string[]];

const CASES: readonly Case[] = [
  ['a program that is missing', ['nowhere.nc'], 'nowhere.nc', 'does not exist'],
  ['a folder as program', ['.'], 'is a folder'],
  ['an empty program', ['empty.nc'], 'empty.nc'],
  ['a binary program', ['binary.nc'], 'binary.nc:1:3'],
  ['a truncated program', ['truncated.nc'], 'truncated.nc:4'],
  ['an unknown word', ['word.nc'], 'word.nc:3:1', 'Q7'],
  ['two programs', ['cut.nc', 'cut.nc'], 'too many arguments'],
  ['a cut beyond the sheet', ['wide.nc'], 'wide.nc:4', 'X610', '10 mm beyond the right edge', '5 mm', 'sheet_width_mm'],
  ['a setup that is missing', ['--setup', 'nowhere.yaml'], 'setup nowhere.yaml', 'does not exist'],
  ['an empty setup', ['--setup', 'empty.yaml'], 'empty.yaml', 'empty'],
  ['a binary setup', ['--setup', 'binary.yaml'], 'binary.yaml:1:1', 'no text'],
  ['a wrong unit', ['--setup', 'unit.yaml'], 'unit.yaml:2:23', '4 V/cm', 'V/mm'],
  ['an unknown key', ['--setup', 'key.yaml'], 'key.yaml:2:3', 'pirece_ms', 'pierce_ms?'],
  ['a value out of range', ['--setup', 'range.yaml'], 'range.yaml:2:14', '9000', '0…5000 ms'],
  ['a contradiction', ['--setup', 'contradiction.yaml'], 'contradiction.yaml:3:21', '4 mm', '3 mm'],
  ['an unknown option', ['--sed', '3'], '--sed', '--seed'],
  ['a seed that is none', ['--seed', '1.5'], '1.5', '4294967295'],
  ['a speed that is none', ['--speed', '0'], '0.01', '100'],
  ['an unknown name to set', ['--set', 'pierse_ms=400'], 'pierse_ms', 'pierce_ms?'],
  ['a value to set out of range', ['--set', 'pierce_ms=9000'], '9000', '0…5000 ms'],
  ['a value to set in another unit', ['--set', 'pierce_ms=4 V'], 'V', 'ms'],
  ['a stored run of a newer version', ['--scenario', 'newer.yaml'], 'newer.yaml:1:9', 'version 3'],
  ['a setup as stored run', ['--scenario', 'good.yaml'], 'good.yaml:1:1', 'no stored run'],
  ['a stored run and a program', ['cut.nc', '--scenario', 'run.yaml'], 'cut.nc', 'run.yaml'],
  ['a stored run and a setup', ['--scenario', 'run.yaml', '--setup', 'good.yaml'], '--scenario', '--setup'],
  ['a trace that exists', ['cut.nc', '--trace', 'there.csv'], 'there.csv', '--force'],
  ['a stored run that exists', ['cut.nc', '--store', 'there.yaml'], 'there.yaml', '--force'],
  ['a trace without a format', ['cut.nc', '--trace', 'trace.txt'], 'trace.txt', '.csv.gz'],
  ['a trace in no folder', ['cut.nc', '--trace', 'no/trace.csv'], 'no/trace.csv', 'cannot be written'],
  ['a trace over its own program', ['cut.nc', '--trace', 'cut.csv', '--force'], 'cut.csv', 'reads'],
  ['a live view without a terminal', ['cut.nc', '--live'], '--live', 'terminal'],
  ['a live and a still view', ['cut.nc', '--live', '--still'], '--live', '--still'],
];

describe('standoff simulate', () => {
  it.concurrent.each(CASES)('refuses %s: status 2, one sentence and what to do', async (_name, args, ...words) => {
    const { status, stdout, stderr } = await standoff(folder, 'simulate', ...args);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    for (const word of words) expect(stderr).toContain(word);
    expect(stderr).toMatch(/^standoff: /);
    expect(stderr.trimEnd().split('\n').length).toBeLessThanOrEqual(3);
    expect(stderr).not.toMatch(/^ +at /m);
  });

  it('leaves what it must not write over as it was', () => {
    expect(readFileSync(join(folder, 'there.csv'), 'utf8')).toBe('mine\n');
    expect(readFileSync(join(folder, 'there.yaml'), 'utf8')).toBe('mine\n');
    expect(readFileSync(join(folder, 'cut.nc'), 'utf8')).toBe(SHORT_CUT);
  });

  it('writes nothing when the input is bad', async () => {
    await standoff(folder, 'simulate', 'wide.nc', '--trace', 'new.csv', '--store', 'new.yaml');
    expect(existsSync(join(folder, 'new.csv'))).toBe(false);
    expect(existsSync(join(folder, 'new.yaml'))).toBe(false);
  });
});

describe('standoff', () => {
  it.concurrent.each([
    ['an unknown command', ['simulat'], 'simulate?'],
    ['an unknown schema', ['schema', 'box'], 'setup, scenario, summary, tune'],
    ['no command', [], 'Usage'],
  ] as const)('refuses %s with status 2', async (_name, args, word) => {
    const { status, stdout, stderr } = await standoff(folder, ...args);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toContain(word);
  });
});

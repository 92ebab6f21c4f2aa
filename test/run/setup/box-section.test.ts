import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  assignBox,
  defaultSetup,
  EXAMPLE_SETUP,
  exampleSetup,
  readSetup,
  updateBox,
} from '../../../sim/run/setup/index.js';
import { SECTION_ROWS } from '../../../sim/run/setup/schema.js';
import type { Row } from '../../../sim/world/plant/index.js';
import { refused } from './refused.js';

const example = exampleSetup().box;
const saved = (text: string | undefined, changes: Readonly<Record<string, number>> = {}) =>
  updateBox(text, 'my.yaml', { ...example, ...changes });

describe('the box section of a setup file, updated from a box', () => {
  it('stays as it is to the letter when the box holds the same', () => {
    expect(saved(EXAMPLE_SETUP)).toBe(EXAMPLE_SETUP);
  });

  it('changes one number and keeps comments, order, unit and everything else', () => {
    const text = saved(EXAMPLE_SETUP, { target_V: 121.5 });
    expect(text).toContain('target_V: 121.5 V');
    expect(text).toContain('# the voltage at cut_height_mm, at target_feed_mm_s');
    const unchanged = (lines: string) => lines.split('\n').filter((line) => !line.includes('target_V:'));
    expect(unchanged(text)).toEqual(unchanged(EXAMPLE_SETUP));
  });

  it('adds what differs from its default, and does not list the rest', () => {
    const text = saved(EXAMPLE_SETUP, { trim_V: 0.5 });
    expect(text.split('\n').filter((line) => !EXAMPLE_SETUP.includes(line))).toEqual(['  trim_V: 0.5']);
    expect(readSetup(text, 'my.yaml').machine).toEqual(exampleSetup().machine);
  });

  it('sets back to its default what the file has and the box does not', () => {
    const text = updateBox('box:\n  pierce_ms: 900 # thick\n', 'my.yaml', defaultSetup().box);
    expect(text).toBe('box:\n  pierce_ms: 500 # thick\n');
  });

  it('of a file without it, or with an empty one, is made', () => {
    for (const start of [
      'machine:\n  table:\n    sheet_width_mm: 500\n',
      'box:\n',
      'box: {}\n',
      '# only words\nbox:\n',
    ]) {
      const text = saved(start, { trim_V: 1 });
      expect(readSetup(text, 'my.yaml').box, start).toEqual({ ...example, trim_V: 1 });
      if (start.startsWith('#')) expect(text).toMatch(/^# only words\n/);
    }
  });

  it('of a new file lists every parameter', () => {
    for (const text of [saved(undefined), saved('\n')]) {
      for (const { path } of SECTION_ROWS.box) expect(text).toContain(`${path.slice(4)}:`);
      expect(readSetup(text, 'my.yaml').box).toEqual(example);
    }
  });

  it('is added to where its last entry ends, whatever follows', () => {
    const text = saved('box: # mine\n    trim_V: 0 # last\n\n# table\nmachine: {}\n', { trim_V: 2 });
    const lines = text.split('\n');
    expect(lines.slice(0, 2)).toEqual(['box: # mine', '    trim_V: 2 # last']);
    expect(lines.slice(-4)).toEqual(['', '# table', 'machine: {}', '']);
    for (const line of lines.slice(2, -4)) expect(line).toMatch(/^ {4}\w+: /);
  });

  it('does not touch a file that is none', () => {
    expect(refused(() => updateBox('box: [1, 2]\n', 'my.yaml', example)).code).toMatch(/^setup-/);
    expect(refused(() => updateBox('box:\n  pierse_ms: 3\n', 'my.yaml', example)).message).toContain('my.yaml:2:3');
  });

  it('reads back as what the box holds, for any values and any file that had some of them', () => {
    const rows = SECTION_ROWS.box.filter(({ path }) => /gain_|pierce_ms|stuck|trim/.test(path));
    const one = (row: Row) => fc.double({ min: row.min, max: row.max, noNaN: true }).map(Math.fround);
    const values = fc
      .record(Object.fromEntries(rows.map((row) => [row.path.slice(4), one(row)])), { requiredKeys: [] })
      .map((some) => ({ ...example, ...some }));
    const starts = fc.constantFrom(
      ...[undefined, EXAMPLE_SETUP, 'box:\n', 'box: { trim_V: 1 V }\nworld: {}', 'box:\n  trim_V: 1e0 V'],
    );
    fc.assert(
      fc.property(starts, values, values, (start, before, after) => {
        fc.pre(inRange(before) && inRange(after));
        const first = updateBox(start, 'my.yaml', before);
        const text = updateBox(first, 'my.yaml', after);
        const read: Readonly<Record<string, number>> = readSetup(text, 'my.yaml').box;
        for (const [name, value] of Object.entries(after)) {
          expect(Math.fround(read[name]) + 0, name).toBe(Math.fround(value) + 0);
        }
      }),
      { numRuns: 60 },
    );
  });
});

/** Rounded to 32 bits a value may lie just outside its range; no box holds such a one. */
function inRange(box: Readonly<Record<string, number>>): boolean {
  return SECTION_ROWS.box.every(({ path, min, max }) => box[path.slice(4)] >= min && box[path.slice(4)] <= max);
}

describe('assignBox', () => {
  it('changes parameters by name, with or without their section', () => {
    const box = assignBox(example, ['pierce_ms=400 ms', 'box.trim_V=1']);
    expect(box).toEqual({ ...example, pierce_ms: 400, trim_V: 1 });
  });

  it('refuses what no box holds, and what contradicts', () => {
    expect(refused(() => assignBox(example, ['world.sheet.wave_mm=0'])).code).toBe('set-elsewhere');
    expect(refused(() => assignBox(example, ['machine.axis.travel_mm=50'])).message).toContain('is not in the box');
    expect(refused(() => assignBox(example, ['cut_height_mm=5'])).code).toBe('setup-contradiction');
    expect(refused(() => assignBox(example, ['pierce_ms'])).code).toBe('set-form');
  });
});

import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { Judge, requirementContext } from '../../sim/judge/index.js';

const page = readFileSync(new URL('../../DEVELOPERS.md', import.meta.url), 'utf8');
/** Rows of the table under the heading, cell by cell, without its head. */
const rows = /\n## Requirements\n(.*?)\n## /s
  .exec(page)![1]
  .split('\n')
  .filter((line) => line.startsWith('|'))
  .slice(2)
  .map((line) =>
    line
      .split('|')
      .slice(1, -1)
      .map((cell) => cell.trim().replaceAll('`', '')),
  );
const results = new Judge(requirementContext()).results();

/** The part of a test file that is about one requirement. */
function testsOf(file: string, name: string): string {
  const text = readFileSync(new URL(`${file}.test.ts`, import.meta.url), 'utf8');
  return text.split(/^describe/m).find((part) => new RegExp(`^\\('(requirement \\d+, )?${name}'`).test(part)) ?? '';
}

describe('the table of requirements in DEVELOPERS.md', () => {
  it('has a row for each requirement and quality goal, with the number, name, statement and unit that the code has', () => {
    expect(rows.map((cells) => cells.slice(0, 4))).toEqual(
      results.map(({ number, kind, name, statement, unit }) => [
        [kind === 'goal' ? 'goal' : '', number === 0 ? '' : String(number)].join(' ').trim(),
        name,
        statement,
        unit,
      ]),
    );
  });

  it.each(rows.filter(([number]) => number !== 'goal'))(
    '%s %s names the file with its tests',
    (_, name, __, ___, file) => {
      const tests = testsOf(file, name);
      expect(tests, 'a test that keeps it').toMatch(/expectKept\(|kept: true/);
      expect(tests, 'a test that breaks it').toMatch(/expectBroken\(|kept: false|kept\)\.toBe\(false\)/);
    },
  );

  it('names the file with the tests of each quality goal', () => {
    for (const [, name, , , file] of rows.filter(([number]) => number === 'goal')) {
      expect(readFileSync(new URL(`${file}.test.ts`, import.meta.url), 'utf8')).toContain(`'${name}'`);
    }
  });
});

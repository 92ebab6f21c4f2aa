import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { ROOT } from '../architecture/files.js';

/**
 * A part of a page in hardware-notes that is made by a run: what stands between `<!-- made: NAME -->` and
 * `<!-- end -->`. The page must have it word for word; with NOTES=write in the environment it is written instead.
 */
export function expectPagePart(page: string, name: string, lines: readonly string[]): void {
  const file = join(ROOT, 'hardware-notes', page);
  const text = readFileSync(file, 'utf8');
  const begin = `<!-- made: ${name} -->\n`;
  const from = text.indexOf(begin) + begin.length;
  const to = text.indexOf('<!-- end -->', from);
  expect(from >= begin.length && to >= from, `${page} has a part ${name}`).toBe(true);
  const made = `\n${lines.join('\n')}\n\n`;
  if (process.env.NOTES === 'write') writeFileSync(file, text.slice(0, from) + made + text.slice(to));
  else
    expect(text.slice(from, to), `${page} is not what the run gives; run this test with NOTES=write to write it`).toBe(
      made,
    );
}

/** Rows as a Markdown table. */
export function markdownTable(titles: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
  return [line(titles), line(titles.map(() => '---')), ...rows.map(line)];
}

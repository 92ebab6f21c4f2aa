import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { ROOT } from '../architecture/files.js';

/**
 * A part of a page in hardware-notes that is made by a run: what stands between `<!-- made: NAME -->` and
 * `<!-- end -->`. The page must have it word for word; with NOTES=write in the environment it is written instead.
 */
export function expectPagePart(page: string, name: string, lines: readonly string[]): void {
  const { file, text, from, to } = placeOf(page, name);
  const made = `\n${lines.join('\n')}\n\n`;
  if (process.env.NOTES === 'write') writeFileSync(file, text.slice(0, from) + made + text.slice(to));
  else
    expect(text.slice(from, to), `${page} is not what the run gives; run this test with NOTES=write to write it`).toBe(
      made,
    );
}

/** Lines of such a part as the page has them. */
export function pagePart(page: string, name: string): readonly string[] {
  const { text, from, to } = placeOf(page, name);
  return text.slice(from, to).trim().split('\n');
}

function placeOf(page: string, name: string) {
  const file = join(ROOT, 'hardware-notes', page);
  const text = readFileSync(file, 'utf8');
  const begin = `<!-- made: ${name} -->\n`;
  const from = text.indexOf(begin) + begin.length;
  const to = text.indexOf('<!-- end -->', from);
  expect(from >= begin.length && to >= from, `${page} has a part ${name}`).toBe(true);
  return { file, text, from, to };
}

export const markdownLine = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;

/** Rows as a Markdown table. */
export const markdownTable = (titles: readonly string[], rows: readonly (readonly string[])[]): string[] =>
  [titles, titles.map(() => '---'), ...rows].map(markdownLine);

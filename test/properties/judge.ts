import { expect } from 'vitest';
import { LawBook, type LawResult, lawContext, type RunFigures } from '../../sim/properties/index.js';
import { feed, type MadeRow } from './made-cut.js';

/** Judges a made run. */
export function judge(rows: readonly MadeRow[], parameters: Readonly<Record<string, number>> = {}): LawBook {
  const book = new LawBook(lawContext(parameters));
  feed(rows, [book]);
  return book;
}

/** What a made run says about one law or quality. */
export function verdict(
  name: string,
  rows: readonly MadeRow[],
  parameters: Readonly<Record<string, number>> = {},
): LawResult {
  const result = judge(rows, parameters)
    .results()
    .find((law) => law.name === name);
  if (result === undefined) throw new Error(`there is no law ${name}`);
  return result;
}

export const figuresOf = (rows: readonly MadeRow[], parameters: Readonly<Record<string, number>> = {}): RunFigures =>
  judge(rows, parameters).figures.figures();

/** The law was put to the test and kept. */
export function expectKept(result: LawResult): void {
  expect(result).toMatchObject({ kept: true });
  expect(result.checked).toBeGreaterThan(0);
  expect(result.margin).toBeGreaterThanOrEqual(0);
}

/** The law was broken, with this margin, at this tick. */
export function expectBroken(result: LawResult, tick: number, margin?: number): void {
  expect(result.kept).toBe(false);
  expect(result.margin).toBeLessThan(0);
  if (margin !== undefined) expect(result.margin).toBeCloseTo(margin, 6);
  expect(result.worst_tick).toBe(tick);
}

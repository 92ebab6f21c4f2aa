import { describe, expect, it } from 'vitest';
import { preferredNumbers, preferredValues } from '../../sim/electrical/parts.js';

// Source: IEC 60063 (second hand; the lists of E12, E24 and E96 as every catalogue prints them, memory).
const E12 = [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82];
const E24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];
const E96 = `100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174
  178 182 187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309
  316 324 332 340 348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549
  562 576 590 604 619 634 649 665 681 698 715 732 750 768 787 806 825 845 866 887 909 931 953 976`
  .split(/\s+/)
  .map(Number);

const formula = (series: number, digits: number) =>
  Array.from({ length: series }, (_, n) => Math.round(digits * 10 ** (n / series)));

describe('the preferred numbers', () => {
  it('are the published E12 and E24', () => {
    expect(preferredNumbers(12)).toEqual(E12.map((value) => 10 * value));
    expect(preferredNumbers(24)).toEqual(E24.map((value) => 10 * value));
  });

  it('differ from the rounded formula in E24 at 27 to 47 by one up and at 82 by one down, in E12 at 27 33 39 47 82', () => {
    const away = (values: readonly number[]) =>
      values.flatMap((value, n) => {
        const by = value / 10 - formula(values.length, 10)[n];
        return by === 0 ? [] : [[value / 10, by]];
      });
    expect(away(preferredNumbers(24))).toEqual([...[27, 30, 33, 36, 39, 43, 47].map((value) => [value, 1]), [82, -1]]);
    expect(away(preferredNumbers(12))).toEqual([...[27, 33, 39, 47].map((value) => [value, 1]), [82, -1]]);
  });

  it('are the published E96, which differs from the formula nowhere', () => {
    expect(preferredNumbers(96)).toEqual(E96);
    expect(preferredNumbers(96)).toEqual(formula(96, 100));
  });

  it('are the rounded formula in E48, and in E192 but for 920', () => {
    expect(preferredNumbers(48)).toEqual(formula(48, 100));
    expect(preferredNumbers(192)).toEqual(formula(192, 100).map((value) => (value === 919 ? 920 : value)));
    expect(preferredNumbers(192)).toContain(920);
  });

  it('contain each coarser series of three digits', () => {
    for (const value of preferredNumbers(48)) expect(preferredNumbers(96)).toContain(value);
    for (const value of preferredNumbers(96)) expect(preferredNumbers(192)).toContain(value);
  });

  it('go through the decades without rounding, both ends included', () => {
    expect(preferredValues(12, 0.1, 1)).toEqual([...E12.map((value) => value / 100), 1]);
    expect(preferredValues(24, 47, 100)).toEqual([47, 51, 56, 62, 68, 75, 82, 91, 100]);
    expect(preferredValues(96, 300, 302)).toEqual([301]);
  });
});

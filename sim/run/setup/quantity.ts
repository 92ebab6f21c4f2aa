import type { Row } from '../../world/plant/index.js';

/** What became of a text where a number with a unit was wanted. */
export type Quantity =
  | { readonly kind: 'number'; readonly value: number }
  | { readonly kind: 'wrong-unit'; readonly unit: string }
  | { readonly kind: 'comma' }
  | { readonly kind: 'no-number' };

const NUMBER = /^([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*)$/s;

/** `4 V/mm` in the row's unit, or a plain `4`; blanks around it do not matter. */
export function readQuantity(text: string, row: Row): Quantity {
  const found = NUMBER.exec(text.trim());
  if (!found) return { kind: 'no-number' };
  const [, number, unit] = found as unknown as [string, string, string];
  if (/^,\d/.test(unit)) return { kind: 'comma' };
  if (unit !== '' && plainUnit(unit) !== plainUnit(row.unit)) return { kind: 'wrong-unit', unit };
  return { kind: 'number', value: Number(number) };
}

/** The unit that a number is written with; empty when there is none. */
export const writtenUnit = (text: string): string => NUMBER.exec(text.trim())?.[2] ?? '';

/** The same unit as a keyboard without superscripts and Greek letters writes it: `mm/s²` → `mm/s2`. */
const plainUnit = (unit: string): string =>
  unit.replaceAll(' ', '').replaceAll('^', '').replaceAll('²', '2').replaceAll(/[µμ]/g, 'u');

/** Pattern of a text that `readQuantity` takes for this unit, for the JSON Schema. */
export function quantityPattern(unit: string): string {
  const forms = [...new Set([unit, plainUnit(unit)])].map((form) => form.replaceAll(/[\\^$.*+?()[\]{}|]/g, '\\$&'));
  const number = String.raw`^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?`;
  return unit === '' ? String.raw`${number}\s*$` : String.raw`${number}\s*(${forms.join('|')})?\s*$`;
}

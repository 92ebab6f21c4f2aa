/** A number with a name in the C: `value` in the unit of the name, or none. */
export interface NumberRow {
  readonly name: string;
  readonly value: number;
  readonly meaning: string;
}
export const numbers = (rows: readonly (readonly [string, number, string])[]): readonly NumberRow[] =>
  rows.map(([name, value, meaning]) => ({ name, value, meaning }));

/** What marks the formats that box and host, or a box and its successor, agree on. Numbers of a board: under its port. */
export const FORMAT_NUMBER_ROWS = numbers([
  ['PROTOCOL', 3, 'version of the link'],
  ['IMAGE_MAGIC', 0x46444e53, 'the bytes SNDF'],
  ['IMAGE_FORMAT', 1, 'layout of an image'],
  ['USB_VENDOR', 0x2e8a, 'of the box’s own USB port: the chip vendor’s number'],
  ['USB_PRODUCT', 0x000a, 'and the one that it lists for a serial port of this class'],
  ['KEPT_MAGIC', 0x514b4e53, 'the bytes SNKQ'],
  ['KEPT_MAGIC_1', 0x504b4e53, 'the bytes SNKP: parameters that do not say which image kept them'],
]);

/** What the serial number of every box begins with; the number of its flash chip follows, 16 digits of base 16. */
export const USB_SERIAL_PREFIX = 'SNDF-';

/** What the trial of a board that is not wired raises, and how it fails on purpose. */
export const TRIAL_NUMBER_ROWS = numbers([
  ['TRIAL_Z_STEP', 1, ''],
  ['TRIAL_Z_DIRECTION', 2, ''],
  ['TRIAL_Z_OWNED', 4, 'and Z steps towards the goal'],
  ['TRIAL_PERMIT', 8, ''],
  ['TRIAL_ALL', 15, ''],
  ['TRIAL_HANG', 1, 'the control tick stops'],
  ['TRIAL_STACK', 2, 'the stack runs over its end'],
  ['TRIAL_PROTECTED', 3, 'a write to the code'],
]);

/** @throws Error when no row has this name: a defect of whoever asks */
export function numberOf(rows: readonly NumberRow[], name: string): number {
  const row = rows.find((candidate) => candidate.name === name);
  if (row === undefined) throw new Error(`no number ${name}`);
  return row.value;
}

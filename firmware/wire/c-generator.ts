import { type CodeRow, FAULT_ROWS, MODE_ROWS, REFUSAL_ROWS } from './code-rows.js';
import { layoutConstants } from './layout-constants.js';
import {
  ANSWER,
  BAUD_AT_START,
  BOOT_ROWS,
  EVENT_ROWS,
  FRAME_EXTRA,
  LAYOUTS,
  type LayoutRow,
  LOCKSTEP_KEPT,
  layoutRow,
  ORIGIN_ROWS,
  PAYLOAD_MOST,
  placed,
  SERVICE_ROWS,
  SLOT_ROWS,
  STATUS_ROWS,
} from './link-rows.js';
import { FORMAT_NUMBER_ROWS, TRIAL_NUMBER_ROWS } from './number-rows.js';
import { PARAMETER_ROWS } from './parameter-rows.js';
import { placedInputs, placedOutputs } from './tick-rows.js';

const C_TYPES: Readonly<Record<string, string>> = {
  u8: 'uint8_t',
  u16: 'uint16_t',
  u32: 'uint32_t',
  i16: 'int16_t',
  i32: 'int32_t',
  f32: 'float',
  bytes: 'uint8_t',
  text: 'char',
};

/** A constant of the C, with its comment. */
export const define = (name: string, value: number, meaning = ''): string =>
  `#define ${name} ${value > 0xffff ? `0x${value.toString(16)}u` : `${value}u`}${meaning === '' ? '' : ` // ${meaning}`}`;
const word = (name: string) => name.toUpperCase().replaceAll('-', '_');
const codes = (prefix: string, rows: readonly CodeRow[]) =>
  rows.map((row) => define(`${prefix}_${word(row.name)}`, row.code, row.meaning));

/** A layout as a C structure, with its size and the place of every field proved by the compiler. */
function structure(row: LayoutRow): string[] {
  if (row.fields.length === 0) return [];
  const { fields, bytes } = placed(row);
  return [
    'typedef struct {',
    ...fields.map(({ name, type, count, meaning }) => {
      const many = count > 1 ? `[${count}]` : '';
      return `  ${C_TYPES[type]} ${name}${many};${meaning === '' ? '' : ` // ${meaning}`}`;
    }),
    `} wire_${row.name};`,
    `_Static_assert(sizeof(wire_${row.name}) == ${bytes}, "${row.name}");`,
    ...fields.map(
      ({ name, offset }) =>
        `_Static_assert(__builtin_offsetof(wire_${row.name}, ${name}) == ${offset}, "${row.name}.${name}");`,
    ),
    '',
  ];
}

/** Fields of a layout that the module's blocks give, but for what the board put on its pins. */
function filled(layout: string): string[] {
  const names = new Set(layoutRow(layout).fields.map(({ name }) => name));
  const inputs = placedInputs().rows.map(({ name, type, constant, half_words }) => ({
    name,
    cell:
      half_words === undefined
        ? `${type}, input, ${constant}`
        : `${type}, input_half, ${constant} + ${2 * (half_words - 1)}u`,
  }));
  const outputs = placedOutputs()
    .rows.filter(({ at_pins }) => !at_pins)
    .map(({ name, type, constant }) => ({
      name,
      cell: type === 'f32' ? `f32, real, ${constant}` : `${type}, word, ${constant}`,
    }));
  return [...inputs, ...outputs]
    .filter(({ name }) => names.has(name))
    .map(({ name, cell }) => `  X(${name}, ${cell}) \\`);
}

/** `wire.gen.h`: everything that box and host agree on, for the C of the box and its loader. */
export function headerSource(): string {
  return [
    '// Generated from the rows in firmware/wire by `npm run generate`. Do not edit.',
    '#ifndef STANDOFF_WIRE_GEN_H',
    '#define STANDOFF_WIRE_GEN_H',
    '#include <stdint.h>',
    '',
    '// Inputs and outputs of the control module',
    ...layoutConstants().map(({ name, value, meaning }) => define(name, value, meaning)),
    '',
    ...codes('MODE', MODE_ROWS),
    ...codes('FAULT', FAULT_ROWS).map((line) => line.replace(/ \/\/.*/, '')),
    ...codes('REFUSAL', REFUSAL_ROWS),
    define('PARAMETER_COUNT', PARAMETER_ROWS.length),
    ...PARAMETER_ROWS.map((row) => define(`PARAMETER_${word(row.name)}`, row.id)),
    '',
    '// The link',
    define('ANSWER', ANSWER),
    define('PAYLOAD_MOST', PAYLOAD_MOST),
    define('FRAME_EXTRA', FRAME_EXTRA),
    define('BAUD_AT_START', BAUD_AT_START),
    define('LOCKSTEP_KEPT', LOCKSTEP_KEPT),
    ...codes('SERVICE', SERVICE_ROWS),
    ...codes('STATUS', STATUS_ROWS),
    ...codes('BOOT', BOOT_ROWS),
    ...codes('EVENT', EVENT_ROWS),
    ...codes('SLOT', SLOT_ROWS),
    ...codes('ORIGIN', ORIGIN_ROWS),
    '',
    ...LAYOUTS.flatMap(structure),
    '// What the module’s blocks give: X(field, type, how it is read, place)',
    `#define TELEMETRY_FROM_MODULE(X) \\`,
    ...filled('telemetry'),
    '',
    `#define MOMENT_FROM_MODULE(X) \\`,
    ...filled('moment'),
    '',
    '// Formats',
    ...FORMAT_NUMBER_ROWS.map((row) => define(row.name, row.value, row.meaning)),
    ...TRIAL_NUMBER_ROWS.map((row) => define(row.name, row.value, row.meaning)),
    '',
    '#endif',
    '',
  ].join('\n');
}

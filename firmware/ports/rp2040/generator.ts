import { define } from '../../wire/c-generator.js';
import type { Generated } from '../../wire/generator.js';
import { BOARD_NUMBER_ROWS, PIN_ROWS } from './board-rows.js';
import { pinsPage } from './pins-page.js';

const NUMBERS = BOARD_NUMBER_ROWS.map((row) => define(row.name, row.value, row.meaning));
const PINS = [
  '',
  '// Pins: number, and whether the word is true at the high level',
  ...PIN_ROWS.flatMap((row) => [
    define(`PIN_${row.name}`, row.gpio, row.meaning),
    ...(row.active === '' ? [] : [define(`PIN_${row.name}_HIGH`, row.active === 'high' ? 1 : 0)]),
  ]),
  '',
  '// Inputs at neighbouring pins, in the order of their bits: X(pin, active high, pull up, bit)',
  '#define INPUT_PINS(X) \\',
  ...PIN_ROWS.filter((row) => row.carries.startsWith('INPUT_') && row.name !== 'RELAY').map(
    (row) => `  X(${row.gpio}, ${row.active === 'high' ? 1 : 0}, ${row.pull === 'up' ? 1 : 0}, ${row.carries}) \\`,
  ),
];

/** `board.gen.h` of a port: what box and loader must know of the board that they run on. */
const boardHeader = (lines: readonly string[]): string =>
  [
    '// Generated from the rows in firmware/ports/rp2040 by `npm run generate`. Do not edit.',
    '#ifndef STANDOFF_BOARD_GEN_H',
    '#define STANDOFF_BOARD_GEN_H',
    '#include "wire.gen.h"',
    '',
    ...lines,
    '',
    '#endif',
    '',
  ].join('\n');

/** What the rows of this folder become. The port of the PC stands in for this board, so it has its numbers, but no pin. */
export const GENERATED_FROM_PORT: readonly Generated[] = [
  { path: 'firmware/ports/rp2040/board.gen.h', source: () => boardHeader([...NUMBERS, ...PINS]) },
  { path: 'firmware/ports/host/board.gen.h', source: () => boardHeader(NUMBERS) },
  { path: 'hardware-notes/pins.gen.md', source: pinsPage },
];

import { type Picture, TONE_STRONG } from '../text/index.js';

/** Seven strokes a digit, three rows, in characters that every terminal has; to be read from a step away. */
const SHAPES: Readonly<Record<string, readonly [string, string, string]>> = {
  '0': [' _ ', '| |', '|_|'],
  '1': ['   ', '  |', '  |'],
  '2': [' _ ', ' _|', '|_ '],
  '3': [' _ ', ' _|', ' _|'],
  '4': ['   ', '|_|', '  |'],
  '5': [' _ ', '|_ ', ' _|'],
  '6': [' _ ', '|_ ', '|_|'],
  '7': [' _ ', '  |', '  |'],
  '8': [' _ ', '|_|', '|_|'],
  '9': [' _ ', '|_|', ' _|'],
  '-': ['   ', ' _ ', '   '],
  '.': [' ', ' ', '.'],
};

export const DIGIT_ROWS = 3;

/** Draw a number three rows tall; @returns the column after it. */
export function drawDigits(picture: Picture, row: number, column: number, number: string, tone = TONE_STRONG) {
  for (const character of number) {
    const shape = SHAPES[character];
    if (shape === undefined) continue;
    for (let line = 0; line < DIGIT_ROWS; line++) picture.text(row + line, column, shape[line], tone);
    column += shape[0].length;
  }
  return column;
}

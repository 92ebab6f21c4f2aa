import { MODE_FOLLOW, MODE_HOLD, MODE_REST, MODE_SETTLE } from '../../../firmware/wire/codes.gen.js';
import { fixed, type Picture, TONE_ALARM, TONE_PLAIN, TONE_QUIET, TONE_STRONG, wrapText } from '../text/index.js';
import type { NowRow, ViewScene } from './history.js';
import type { Region } from './section.js';
import { deviationWords, lamps, type Said } from './sentences.js';

// The parts of a frame that are words and figures. They stand apart from frame.ts, which places them.

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

/** Sentences one below the other, broken where they must be; @returns the rows that are left. */
export function drawWordLines(picture: Picture, region: Region, sentences: readonly Said[]): Region {
  let used = 0;
  for (const { text, tone } of sentences)
    for (const line of wrapText(text, region.columns, 2)) {
      if (used < region.rows) picture.text(region.row + used, region.column, line, tone);
      used = Math.min(region.rows, used + 1);
    }
  return { ...region, row: region.row + used, rows: region.rows - used };
}

/** Lamps as words in one row; those that find no room are left out, the last ones first. */
export function drawLampRow(
  picture: Picture,
  region: Region,
  parts: readonly { readonly name: string; readonly state: Said }[],
): void {
  let column = region.column;
  for (const { name, state } of parts) {
    const width = name.length + 1 + state.text.length;
    if (column + width > region.columns) {
      // A word that raises the alarm is never the one that is dropped.
      if (state.tone === TONE_ALARM)
        picture.textBefore(region.row, region.columns, ` ${name} ${state.text}`, TONE_ALARM);
      continue;
    }
    column = picture.text(region.row, column, `${name} `, TONE_QUIET);
    column = picture.text(region.row, column, state.text, state.tone) + 2;
  }
}

/** Which key does what. */
export function drawKeys(picture: Picture, region: Region, keys: readonly (readonly [string, string])[]): void {
  let column = region.column;
  for (const [key, does] of keys) {
    column = picture.text(region.row, column, key, TONE_STRONG);
    column = picture.text(region.row, column, ` ${does}`, TONE_QUIET) + 2;
  }
}

const NAME_COLUMNS = 9;

/**
 * The column of figures and words. A simulated cut shows its true standoff large; a box, which cannot know it, the arc
 * voltage. Then what drives it, and the inputs and outputs.
 */
export function drawCard(picture: Picture, region: Region, now: NowRow, scene: ViewScene): void {
  const { column } = region;
  const { truth, mode, standoff_mm } = now;
  const working = truth ? mode >= MODE_SETTLE && mode <= MODE_HOLD : mode === MODE_FOLLOW;
  const deviation = deviationWords(standoff_mm - scene.cut_height_mm, scene.tolerance_mm);
  let row = region.row;
  const last = region.row + region.rows;
  if (truth) {
    picture.text(row++, column, mode === MODE_REST ? 'tip above the sheet, mm' : 'standoff, mm', TONE_QUIET);
    const alarm = working && deviation.tone === TONE_ALARM;
    drawDigits(picture, row, column, fixed(standoff_mm, 2), alarm ? TONE_ALARM : TONE_STRONG);
  } else {
    picture.text(row++, column, 'arc voltage, V', TONE_QUIET);
    drawDigits(picture, row, column, fixed(now.measured_V, 1));
  }
  row += DIGIT_ROWS;
  if (working) picture.text(row, column, deviation.text, deviation.tone);
  row += 2;

  const entry = (name: string, said: Said) => {
    if (row >= last) return;
    picture.text(row, column, name, TONE_QUIET);
    picture.text(row++, column + NAME_COLUMNS, said.text, said.tone);
  };
  const figure = (name: string, value: number, decimals: number, unit: string) =>
    entry(name, { text: `${fixed(value, decimals)} ${unit}`, tone: TONE_PLAIN });
  if (truth) figure('voltage', now.measured_V, 1, 'V');
  else figure('standoff', standoff_mm, 2, 'mm');
  figure('target', now.target_V, 1, 'V');
  figure('feed', now.feed_mm_s, 1, 'mm/s');
  row++;
  for (const { name, state } of lamps(now)) entry(name, state);
  row++;
  if (truth) entry('contacts', { text: String(truth.contacts), tone: truth.contacts > 0 ? TONE_ALARM : TONE_PLAIN });
  else figure('Z', now.torch_mm, 2, 'mm');
  figure('Z speed', now.z_velocity_mm_s, 1, 'mm/s');
  figure('slope', 100 * Math.hypot(now.slope_x, now.slope_y), 1, '%');
}

import { type Picture, TONE_ALARM, TONE_QUIET, TONE_STRONG, wrapText } from '../text/index.js';
import type { Region } from './section.js';
import type { Said } from './sentences.js';

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

import { type Picture, TONE_QUIET } from './picture.js';
import { LABEL_COLUMNS, type Region, type SectionScale } from './section.js';
import { fitText, fixed } from './text.js';

/** `heights ×2.4`: how much larger heights are drawn than lengths. */
export function exaggerationWords(scale: SectionScale): string {
  return `heights ×${fixed(scale.exaggeration, 1)}`;
}

/**
 * A rule with the unit of the axis at its left, what is shown, and a note at its right.
 * @param words from the fullest to the shortest: the first that leaves room for the note is taken, else
 *   the first that fits without it, else the shortest is cut.
 */
export function heading(
  picture: Picture,
  region: Region,
  unit: string,
  words: readonly [string, ...string[]],
  note: string,
): void {
  const end = region.column + region.columns;
  const first = region.column + LABEL_COLUMNS;
  picture.rule(region.row, first, end);
  picture.textBefore(region.row, first - 1, unit, TONE_QUIET);
  const room = region.columns - LABEL_COLUMNS - 4;
  const together = words.find((text) => text.length + note.length + 3 <= room);
  const alone = words.find((text) => text.length <= room) ?? fitText(words[words.length - 1], room);
  picture.text(region.row, first + 1, ` ${together ?? alone} `);
  if (note !== '' && together !== undefined) picture.textBefore(region.row, end - 1, ` ${note} `, TONE_QUIET);
}

/** Distances behind the torch in whole tens of millimetres. */
export function drawPathAxis(picture: Picture, region: Region, scale: SectionScale, zero_mm: number): void {
  const column = (path_mm: number) =>
    region.column + LABEL_COLUMNS + Math.floor((path_mm - scale.left_mm) / scale.mm_per_dot_across / 2);
  const end = region.column + region.columns;
  for (let back_mm = 0; ; back_mm += 10) {
    const at = column(zero_mm - back_mm);
    if (at < region.column + LABEL_COLUMNS + 1) break;
    const label = back_mm === 0 ? '0 mm' : `−${back_mm}`;
    if (at + label.length <= end) picture.text(region.row, back_mm === 0 ? at : at - 1, label, TONE_QUIET);
  }
}

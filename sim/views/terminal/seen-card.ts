import { MODE_FOLLOW } from '../../../firmware/wire/codes.gen.js';
import { fixed, type Picture, TONE_PLAIN, TONE_QUIET, TONE_STRONG } from '../text/index.js';
import { DIGIT_ROWS, drawDigits } from './digits.js';
import type { NowRow } from './scene.js';
import type { Region } from './section.js';
import type { SeenHistory } from './seen-history.js';
import { seenLamps } from './seen-sentences.js';
import { deviationWords, type Said } from './sentences.js';

const NAME_COLUMNS = 9;

/** The column of figures of a watched box: the arc voltage large, then what the box makes of it, then its lines. */
export function drawSeenCard(picture: Picture, region: Region, history: SeenHistory, now: NowRow): void {
  const { column } = region;
  const { scene } = history;
  const last = region.row + region.rows;
  let row = region.row;
  picture.text(row++, column, 'arc voltage, V', TONE_QUIET);
  drawDigits(picture, row, column, fixed(now.measured_V, 1), TONE_STRONG);
  row += DIGIT_ROWS;
  if (now.mode === MODE_FOLLOW) {
    const deviation = deviationWords(now.measured_error_mm, scene.tolerance_mm);
    picture.text(row, column, deviation.text, deviation.tone);
  }
  row += 2;

  const entry = (name: string, said: Said) => {
    if (row >= last) return;
    picture.text(row, column, name, TONE_QUIET);
    picture.text(row++, column + NAME_COLUMNS, said.text, said.tone);
  };
  const figure = (name: string, text: string) => entry(name, { text, tone: TONE_PLAIN });
  figure('target', `${fixed(now.target_V, 1)} V`);
  figure('standoff', `${fixed(history.standoff_mm, 2)} mm`);
  figure('feed', `${fixed(now.measured_feed_mm_s, 1)} mm/s`);
  row++;
  for (const { name, state } of seenLamps(now)) entry(name, state);
  row++;
  figure('Z', `${fixed(history.z_mm, 2)} mm`);
  figure('Z speed', `${fixed(now.z_velocity_mm_s, 1)} mm/s`);
  figure('slope', `${fixed(100 * Math.hypot(now.slope_x, now.slope_y), 1)} %`);
}

import { MODE_HOLD, MODE_REST, MODE_SETTLE } from '../../../firmware/wire/codes.gen.js';
import { fixed, type Picture, TONE_ALARM, TONE_PLAIN, TONE_QUIET, TONE_STRONG } from '../text/index.js';
import { DIGIT_ROWS, drawDigits } from './digits.js';
import type { NowRow, ViewScene } from './scene.js';
import type { Region } from './section.js';
import { deviationWords, lamps, type Said } from './sentences.js';

const NAME_COLUMNS = 9;

/** The column of figures and words: standoff large, then what drives it, then the outputs. */
export function drawCard(picture: Picture, region: Region, now: NowRow, scene: ViewScene): void {
  const { column } = region;
  const working = now.mode >= MODE_SETTLE && now.mode <= MODE_HOLD;
  let row = region.row;
  const last = region.row + region.rows;
  picture.text(row++, column, now.mode === MODE_REST ? 'tip above the sheet, mm' : 'standoff, mm', TONE_QUIET);
  const deviation = deviationWords(now.standoff_mm - scene.cut_height_mm, scene.tolerance_mm);
  drawDigits(picture, row, column, fixed(now.standoff_mm, 2), working ? tone(deviation) : TONE_STRONG);
  row += DIGIT_ROWS;
  if (working) picture.text(row, column, deviation.text, deviation.tone);
  row += 2;

  const entry = (name: string, said: Said) => {
    if (row >= last) return;
    picture.text(row, column, name, TONE_QUIET);
    picture.text(row++, column + NAME_COLUMNS, said.text, said.tone);
  };
  const figure = (name: string, text: string) => entry(name, { text, tone: TONE_PLAIN });
  figure('feed', `${fixed(now.feed_mm_s, 1)} mm/s`);
  figure('voltage', `${fixed(now.measured_V, 1)} V`);
  figure('target', `${fixed(now.target_V, 1)} V`);
  row++;
  for (const { name, state } of lamps(now)) entry(name, state);
  row++;
  const { contacts } = now;
  entry('contacts', { text: String(contacts), tone: contacts > 0 ? TONE_ALARM : TONE_PLAIN });
  figure('Z speed', `${fixed(now.z_velocity_mm_s, 1)} mm/s`);
  figure('slope', `${fixed(100 * Math.hypot(now.slope_x, now.slope_y), 1)} %`);
}

function tone(said: Said): number {
  return said.tone === TONE_PLAIN ? TONE_STRONG : said.tone;
}

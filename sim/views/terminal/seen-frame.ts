import { HOLD_ROWS } from '../../../firmware/wire/code-rows.js';
import { TICKS_PER_S } from '../../base/index.js';
import {
  clockText,
  type DrawStyle,
  fitText,
  fixed,
  Picture,
  TONE_HOLD,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
} from '../text/index.js';
import { drawKeys, drawLampRow, drawWordLines } from './frame-parts.js';
import { type Layout, LEAST_SIZE, layoutFor, type Size } from './layout.js';
import type { NowRow } from './scene.js';
import {
  drawPathAxis,
  drawSection,
  exaggerationWords,
  heading,
  LABEL_COLUMNS,
  type Region,
  sectionScale,
} from './section.js';
import { drawSeenCard } from './seen-card.js';
import type { SeenHistory } from './seen-history.js';
import { seenLamps, seenSentence, seenStatus } from './seen-sentences.js';
import type { Said } from './sentences.js';
import { drawHoldLane, drawStandoffStrip, drawVoltageStrip, stripSeconds } from './strip.js';

/** Everything one frame of a watched box is drawn from. */
export interface SeenState {
  readonly history: SeenHistory;
  /** How the link is: rows, gaps, or that it is lost. */
  readonly link: Said;
  /** The picture stands still; rows go on coming. */
  readonly frozen: boolean;
}

const SECTION_WORDS = [
  'torch, and the sheet as the box believes it; dotted: wanted',
  'torch, and the sheet as the box believes it',
  'as the box believes',
] as const;
const HOLD_NAMES = HOLD_ROWS.map(({ name }) => name);
/** Thickness of the sheet in the drawing only: the box does not know it. */
const DRAWN_THICKNESS_MM = 3;

/**
 * One frame of a watched box as text: the picture of a simulated cut as far as a box knows it.
 * @param size columns and rows of the terminal; under 40 × 12 there are two lines of status, the rest is empty.
 * @returns exactly `size.rows` lines, each exactly `size.columns` visible characters.
 */
export function drawSeenFrame(state: SeenState, size: Size, style: DrawStyle): string[] {
  const picture = new Picture(Math.max(0, size.columns), Math.max(0, size.rows), style);
  const { history, link } = state;
  const { now } = history;
  if (size.columns < LEAST_SIZE.columns || size.rows < LEAST_SIZE.rows) {
    const status = seenStatus(history);
    picture.text(0, 0, fitText(status.text, size.columns), status.tone);
    picture.text(1, 0, fitText(link.text, size.columns), link.tone);
    return picture.lines();
  }
  const layout = layoutFor(size);
  drawTitle(picture, layout.title, state);
  picture.text(layout.progress.row, 0, fitText(link.text, size.columns), link.tone);
  drawKeys(picture, layout.keys, [
    ['space', state.frozen ? 'go on' : 'freeze the picture'],
    ['q', 'quit'],
  ]);
  if (now === undefined) picture.text(layout.words.row, 0, 'Waiting for the first row of the box.', TONE_STRONG);
  else drawBody(picture, layout, history, now);
  return picture.lines();
}

function drawTitle(picture: Picture, region: Region, { history, frozen }: SeenState): void {
  const { now, scene, starts } = history;
  const time = now === undefined ? '' : `${clockText(now.tick / TICKS_PER_S)}.${Math.floor(now.tick / 100) % 10}`;
  const start = starts === 0 ? '' : `  start ${starts}`;
  const title = `box at ${scene.address}${start}`;
  const long = frozen ? `FROZEN at ${time}` : `${time} since the box started`;
  const fits = title.length + long.length + 2 <= region.columns;
  const right = fits ? long : frozen ? 'FROZEN' : time;
  picture.text(region.row, 0, fitText(title, region.columns - right.length - 2));
  if (now !== undefined) picture.textBefore(region.row, region.columns, right, frozen ? TONE_HOLD : TONE_PLAIN);
}

function drawBody(picture: Picture, layout: Layout, history: SeenHistory, now: NowRow): void {
  const { scene, time, path } = history;
  const { head, detail } = seenSentence(history, now);
  drawWordLines(picture, layout.words, [head, detail]);
  if (layout.lamps) {
    const feed = { name: 'feed', state: { text: `${fixed(now.measured_feed_mm_s, 1)} mm/s`, tone: TONE_PLAIN } };
    drawLampRow(picture, layout.lamps, [...seenLamps(now), feed]);
  }
  if (layout.card) drawSeenCard(picture, layout.card, history, now);

  // Where no sheet is known, the picture stands around the torch.
  const around_mm = Number.isNaN(history.z_mm) ? 0 : history.z_mm - scene.cut_height_mm;
  const torch = {
    path_mm: history.path_mm,
    torch_mm: history.z_mm,
    plate_mm: Number.isNaN(history.sheet_mm) ? around_mm : history.sheet_mm,
    burning: false,
  };
  const scale = sectionScale(layout.section, path, torch);
  heading(picture, layout.sectionRule, 'mm', SECTION_WORDS, exaggerationWords(scale));
  drawSection(picture, layout.section, path, torch, scale, DRAWN_THICKNESS_MM);
  if (layout.pathAxis) drawPathAxis(picture, layout.pathAxis, scale, torch.path_mm);

  if (layout.standoff && layout.standoffRule) {
    const wanted = `wanted ${fixed(scene.cut_height_mm, 2)} ±${fixed(scene.tolerance_mm, 2)}`;
    const words = [`standoff by the voltage, ${wanted}`, `standoff, ${wanted}`] as const;
    heading(picture, layout.standoffRule, 'mm', words, '');
    drawStandoffStrip(picture, layout.standoff, time, scene.cut_height_mm, scene.tolerance_mm);
  }
  const arc = `arc ${fixed(now.measured_V, 1)}, target ${fixed(now.target_V, 1)}`;
  heading(picture, layout.voltageRule, 'V', [arc], `last ${stripSeconds(layout.voltage)} s`);
  drawVoltageStrip(picture, layout.voltage, time);
  if (layout.holdLane) {
    picture.textBefore(layout.holdLane.row, LABEL_COLUMNS - 1, 'hold', TONE_QUIET);
    drawHoldLane(picture, layout.holdLane, time, HOLD_NAMES);
  }
}

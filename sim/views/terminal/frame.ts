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
import { drawCard } from './card.js';
import { drawKeys, drawLampRow, drawWordLines } from './frame-parts.js';
import { type Layout, LEAST_SIZE, layoutFor, type Size } from './layout.js';
import type { NowRow, ViewState } from './scene.js';
import {
  drawPathAxis,
  drawSection,
  exaggerationWords,
  heading,
  LABEL_COLUMNS,
  type Region,
  sectionScale,
} from './section.js';
import { lamps, lowSoFar, modeSentence, soFar, statusLine } from './sentences.js';
import { drawHoldLane, drawStandoffStrip, drawVoltageStrip, stripSeconds } from './strip.js';

const SECTION_WORDS = ['sheet and torch in section; dotted: wanted', 'sheet and torch in section', 'section'] as const;
const HOLD_NAMES = HOLD_ROWS.map(({ name }) => name);

/**
 * One frame of the live view as text.
 *
 * @param size columns and rows of the terminal; under 40 × 12 there is one line of status, the rest is empty.
 * @returns exactly `size.rows` lines, each exactly `size.columns` visible characters.
 */
export function drawFrame(state: ViewState, size: Size, style: DrawStyle): string[] {
  const picture = new Picture(Math.max(0, size.columns), Math.max(0, size.rows), style);
  const { now } = state.history;
  if (size.columns < LEAST_SIZE.columns || size.rows < LEAST_SIZE.rows) {
    picture.text(0, 0, statusLine(now, state.scene));
    return picture.lines();
  }
  const layout = layoutFor(size);
  drawTitle(picture, layout.title, state);
  drawProgress(picture, layout.progress, state);
  drawViewKeys(picture, layout.keys, state);
  if (now === undefined) picture.text(layout.words.row, 0, 'Waiting for the first tick.', TONE_STRONG);
  else drawBody(picture, layout, state, now);
  return picture.lines();
}

function drawBody(picture: Picture, layout: Layout, state: ViewState, now: NowRow): void {
  const { history, scene } = state;
  drawWords(picture, layout.words, state, now);
  if (layout.lamps) {
    const feed = { name: 'feed', state: { text: `${fixed(now.feed_mm_s, 1)} mm/s`, tone: TONE_PLAIN } };
    drawLampRow(picture, layout.lamps, [...lamps(now).filter(({ name }) => name !== 'Z'), feed]);
  }
  if (layout.card) drawCard(picture, layout.card, now, scene);

  const torch = {
    path_mm: now.path_mm,
    torch_mm: now.torch_mm,
    plate_mm: now.plate_mm,
    burning: now.burning !== 0,
  };
  const scale = sectionScale(layout.section, history.path, torch);
  heading(picture, layout.sectionRule, 'mm', SECTION_WORDS, exaggerationWords(scale));
  drawSection(picture, layout.section, history.path, torch, scale, scene.thickness_mm);
  if (layout.pathAxis) drawPathAxis(picture, layout.pathAxis, scale, now.path_mm);

  if (layout.standoff && layout.standoffRule) {
    const wanted = `standoff, wanted ${fixed(scene.cut_height_mm, 2)} ±${fixed(scene.tolerance_mm, 2)}`;
    heading(picture, layout.standoffRule, 'mm', [wanted], '');
    drawStandoffStrip(picture, layout.standoff, history.time, scene.cut_height_mm, scene.tolerance_mm);
  }
  const shown = `last ${stripSeconds(layout.voltage)} s`;
  const arc = `arc ${fixed(now.measured_V, 1)}, target ${fixed(now.target_V, 1)}`;
  heading(picture, layout.voltageRule, 'V', [arc], shown);
  drawVoltageStrip(picture, layout.voltage, history.time);
  if (layout.holdLane) {
    picture.textBefore(layout.holdLane.row, LABEL_COLUMNS - 1, 'hold', TONE_QUIET);
    drawHoldLane(picture, layout.holdLane, history.time, HOLD_NAMES);
  }
}

function drawTitle(picture: Picture, region: Region, state: ViewState): void {
  const { now } = state.history;
  const time_s = now === undefined ? 0 : now.tick / TICKS_PER_S;
  const tenth = now === undefined ? 0 : Math.floor(now.tick / 100) % 10;
  const pace = state.paused ? 'PAUSED' : `${speedText(state.speed)}× real time`;
  const clock = `${clockText(time_s)}.${tenth} simulated, ${pace}`;
  const short = `${clockText(time_s)}.${tenth} ${state.paused ? 'PAUSED' : `${speedText(state.speed)}×`}`;
  const place =
    now === undefined || now.contour < 0
      ? counted(state.scene.contours)
      : `contour ${now.contour + 1} of ${state.scene.contours}, line ${now.line}`;
  const title = `${state.scene.program}  ${place}`;
  const long = title.length + clock.length + 2 <= region.columns;
  const right = long ? clock : short;
  picture.text(region.row, 0, fitText(title, region.columns - right.length - 2), TONE_PLAIN);
  picture.textBefore(region.row, region.columns, right, state.paused ? TONE_HOLD : TONE_PLAIN);
}

function counted(contours: number): string {
  return `${contours} contour${contours === 1 ? '' : 's'}`;
}

function speedText(speed: number): string {
  return speed >= 1 ? String(Math.round(speed)) : String(speed);
}

function drawWords(picture: Picture, region: Region, state: ViewState, now: NowRow): void {
  const { head, detail } = modeSentence(now, state.scene);
  const left = drawWordLines(picture, region, [head, detail]);
  const full = soFar(state.history, state.scene);
  const fits = full.text.length <= left.rows * (region.columns - 2);
  drawWordLines(picture, left, [fits ? full : (lowSoFar(state.history, state.scene) ?? full)]);
}

function drawProgress(picture: Picture, region: Region, state: ViewState): void {
  const share = Math.min(1, Math.max(0, state.progress));
  const text = ` ${Math.floor(share * 100)} %, ${clockText(state.remaining_s)} left`;
  const bar = region.columns - text.length - 2;
  const done = Math.floor(share * bar);
  picture.text(region.row, 0, '[');
  for (let at = 0; at < bar; at++) {
    if (at < done) picture.text(region.row, 1 + at, '━');
    else picture.text(region.row, 1 + at, '·', TONE_QUIET);
  }
  picture.text(region.row, 1 + bar, `]${text}`);
}

function drawViewKeys(picture: Picture, region: Region, state: ViewState): void {
  const paused = [
    ['space', 'go on'],
    ['s', '1 ms'],
    ['→', '10 ms'],
    ['q', 'quit'],
  ] as const;
  const running = [
    ['space', 'pause'],
    ['+', 'faster'],
    ['-', 'slower'],
    ['q', 'quit'],
  ] as const;
  drawKeys(picture, region, state.paused ? paused : running);
}

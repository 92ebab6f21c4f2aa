import { HOLD_ROWS } from '../../../firmware/wire/code-rows.js';
import { TICKS_PER_S } from '../../base/index.js';
import {
  clockText,
  counted,
  type DrawStyle,
  fitText,
  fixed,
  Picture,
  TONE_HOLD,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
} from '../text/index.js';
import { drawCard, drawKeys, drawLampRow, drawWordLines } from './card.js';
import { isBox, type NowRow, type ViewHistory } from './history.js';
import { drawSectionView, heading, LABEL_COLUMNS, type Region } from './section.js';
import { lamps, modeSentence, type Said, soFar, statusLine } from './sentences.js';
import { drawHoldLane, drawStandoffStrip, drawVoltageStrip, stripSeconds } from './strip.js';

/** Everything one frame is drawn from. */
export interface ViewState {
  readonly history: ViewHistory;
  /** The picture stands still, and a simulation with it; a box and its rows go on. */
  readonly paused: boolean;
  /** How far a simulation is; or how the link to a box is: rows, gaps, or that it is lost. */
  readonly progress: SimulationProgress | Said;
}

export interface SimulationProgress {
  /** Share of the program that is done, 0…1. */
  readonly share: number;
  /** Simulated time to go, s; NaN when it is not known. */
  readonly remaining_s: number;
  /** Simulated seconds for a wall second that the user asked for. */
  readonly speed: number;
}

export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** Below this there are only lines of status. */
const LEAST_SIZE: Size = { columns: 40, rows: 12 };

const CARD_COLUMNS = 25;

/**
 * Where each part of a frame goes; a part that found no room is undefined. Sentences come first, then the section, then
 * the strips. More room makes the pictures larger; it never adds words.
 * @param size at least LEAST_SIZE.
 */
function layoutFor({ columns, rows }: Size) {
  const wide = columns >= 76 && rows >= 24;
  const words = rows >= 18 ? 3 : 2;
  const free = rows - words - (wide ? 3 : 4);
  const with_lane = free >= 8;
  const with_standoff = free >= 14;
  const with_axis = free >= 15;
  const strips = with_standoff ? 2 : 1;
  const picture = free - 1 - strips - (with_lane ? 1 : 0) - (with_axis ? 1 : 0);
  // Strips have an odd number of rows, so that the target runs through the middle of one.
  const low = picture >= 7 ? 3 : Math.max(1, picture - 3);
  const strip = with_standoff ? Math.max(3, 2 * Math.floor(picture / 8) + 1) : low;

  let next = 0;
  const left = wide ? columns - CARD_COLUMNS - 2 : columns;
  const take = (count: number, width = left): Region => {
    const region = { row: next, column: 0, columns: width, rows: count };
    next += count;
    return region;
  };
  return {
    title: take(1, columns),
    words: take(words, columns),
    /** Inputs and outputs in one row, where there is no card. */
    lamps: wide ? undefined : take(1),
    /** The column of figures on the right, large enough to read from a step away. */
    card: wide ? { row: next, column: columns - CARD_COLUMNS, columns: CARD_COLUMNS, rows: free } : undefined,
    sectionRule: take(1),
    section: take(picture - strip * strips),
    pathAxis: with_axis ? take(1) : undefined,
    standoffRule: with_standoff ? take(1) : undefined,
    standoff: with_standoff ? take(strip) : undefined,
    voltageRule: take(1),
    voltage: take(strip),
    holdLane: with_lane ? take(1) : undefined,
    progress: take(1, columns),
    keys: take(1, columns),
  };
}

/** What a section shows: of a simulated cut, and of a box. */
const SECTION_WORDS = [
  ['sheet and torch in section; dotted: target', 'sheet and torch in section', 'section'],
  [
    'torch, and the sheet as the box believes it; dotted: target',
    'torch, and the sheet as the box believes it',
    'as the box believes',
  ],
] as const;
const HOLD_NAMES = HOLD_ROWS.map(({ name }) => name);
/** Thickness of the sheet under a box, for the drawing only: the box does not know it. */
const DRAWN_THICKNESS_MM = 3;

/**
 * One frame of the live view as text, of a simulated cut or of a watched box as far as it knows.
 *
 * @param size columns and rows of the terminal; under 40 × 12 there are only lines of status, the rest is empty.
 * @returns exactly `size.rows` lines, each exactly `size.columns` visible characters.
 */
export function drawFrame(state: ViewState, size: Size, style: DrawStyle): string[] {
  const picture = new Picture(Math.max(0, size.columns), Math.max(0, size.rows), style);
  const { history, progress } = state;
  const { now } = history;
  if (size.columns < LEAST_SIZE.columns || size.rows < LEAST_SIZE.rows) {
    const lines = [statusLine(history), ...('text' in progress ? [progress] : [])];
    for (const [row, { text, tone }] of lines.entries()) picture.text(row, 0, fitText(text, size.columns), tone);
    return picture.lines();
  }
  const layout = layoutFor(size);
  drawTitle(picture, layout.title, state);
  if ('text' in progress) picture.text(layout.progress.row, 0, fitText(progress.text, size.columns), progress.tone);
  else drawProgress(picture, layout.progress, progress);
  drawKeys(picture, layout.keys, keysOf(state));
  if (now === undefined) picture.text(layout.words.row, 0, statusLine(history).text, TONE_STRONG);
  else drawBody(picture, layout, history, now);
  return picture.lines();
}

function drawBody(picture: Picture, layout: ReturnType<typeof layoutFor>, history: ViewHistory, now: NowRow): void {
  const { scene, path, time } = history;
  drawWords(picture, layout.words, history, now);
  if (layout.lamps) {
    const feed = { name: 'feed', state: { text: `${fixed(now.feed_mm_s, 1)} mm/s`, tone: TONE_PLAIN } };
    drawLampRow(picture, layout.lamps, [...lamps(now), feed]);
  }
  if (layout.card) drawCard(picture, layout.card, now, scene);

  // Where no sheet is known, the picture stands around the torch.
  const around_mm = Number.isNaN(now.torch_mm) ? 0 : now.torch_mm - scene.cut_height_mm;
  const torch = {
    path_mm: now.path_mm,
    torch_mm: now.torch_mm,
    plate_mm: Number.isNaN(now.plate_mm) ? around_mm : now.plate_mm,
    burning: now.truth?.burning === 1,
  };
  const thickness_mm = isBox(scene) ? DRAWN_THICKNESS_MM : scene.thickness_mm;
  drawSectionView(picture, layout, path, torch, SECTION_WORDS[isBox(scene) ? 1 : 0], thickness_mm);

  if (layout.standoff && layout.standoffRule) {
    const target = `target ${fixed(scene.cut_height_mm, 2)} ±${fixed(scene.tolerance_mm, 2)}`;
    const short = `standoff, ${target}`;
    const words = isBox(scene) ? ([`standoff by the voltage, ${target}`, short] as const) : ([short] as const);
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

function drawTitle(picture: Picture, region: Region, { history, paused, progress }: ViewState): void {
  const tick = history.now?.tick ?? 0;
  const time = `${clockText(tick / TICKS_PER_S)}.${Math.floor(tick / 100) % 10}`;
  const pace = 'text' in progress ? '' : `${Number(progress.speed.toPrecision(2))}×`;
  const full = isBox(history.scene) ? ' since the box started' : ` simulated, ${pace} real time`;
  // A box goes on while its picture stands still: it is never called paused.
  const word = isBox(history.scene) ? 'FROZEN' : 'PAUSED';
  const long = paused ? `${word} at ${time}` : time + full;
  const short = paused ? word : `${time} ${pace}`.trimEnd();
  const title = titleOf(history);
  const right = title.length + long.length + 2 <= region.columns ? long : short;
  picture.text(region.row, 0, fitText(title, region.columns - right.length - 2), TONE_PLAIN);
  picture.textBefore(region.row, region.columns, right, paused ? TONE_HOLD : TONE_PLAIN);
}

function titleOf({ scene, now, starts }: ViewHistory): string {
  if (isBox(scene)) return `box at ${scene.address}${starts === 0 ? '' : `  start ${starts}`}`;
  const { contour, line } = now?.truth ?? { contour: -1, line: 0 };
  const place =
    contour < 0 ? counted(scene.contours, 'contour') : `contour ${contour + 1} of ${scene.contours}, line ${line}`;
  return `${scene.program}  ${place}`;
}

function drawWords(picture: Picture, region: Region, history: ViewHistory, now: NowRow): void {
  const { head, detail } = modeSentence(now, history.scene);
  const left = drawWordLines(picture, region, [head, detail]);
  if (!now.truth) return;
  const [full, short] = soFar(history);
  const fits = full.text.length <= left.rows * (region.columns - 2);
  drawWordLines(picture, left, [fits ? full : short]);
}

function drawProgress(picture: Picture, region: Region, { share, remaining_s }: SimulationProgress): void {
  const done = Math.min(1, Math.max(0, share));
  const text = ` ${Math.floor(done * 100)} %, ${clockText(remaining_s)} left`;
  const bar = region.columns - text.length - 2;
  const full = Math.floor(done * bar);
  picture.text(region.row, 0, '[');
  for (let at = 0; at < bar; at++) {
    if (at < full) picture.text(region.row, 1 + at, '━');
    else picture.text(region.row, 1 + at, '·', TONE_QUIET);
  }
  picture.text(region.row, 1 + bar, `]${text}`);
}

function keysOf({ history, paused }: ViewState): readonly (readonly [string, string])[] {
  const box = isBox(history.scene);
  const space = ['space', paused ? 'resume' : box ? 'freeze the picture' : 'pause'] as const;
  const quit = ['q', 'quit'] as const;
  if (box) return [space, quit];
  return paused ? [space, ['s', '1 ms'], ['→', '10 ms'], quit] : [space, ['+', 'faster'], ['-', 'slower'], quit];
}

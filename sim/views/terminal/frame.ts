import { HOLD_ROWS } from '../../../firmware/wire/code-rows.js';
import { MODE_FOLLOW, MODE_HOLD, MODE_REST, MODE_SETTLE } from '../../../firmware/wire/codes.gen.js';
import { TICKS_PER_S } from '../../base/index.js';
import {
  clockText,
  counted,
  type DrawStyle,
  fitText,
  fixed,
  Picture,
  TONE_ALARM,
  TONE_HOLD,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
  wrapText,
} from '../text/index.js';
import { isBox, type NowRow, type ViewHistory, type ViewScene } from './history.js';
import { drawSectionView, heading, LABEL_COLUMNS, type Region } from './section.js';
import { deviationWords, lamps, modeSentence, type Said, soFar, statusLine } from './sentences.js';
import { drawHoldLane, drawStandoffStrip, drawVoltageStrip, stripSeconds } from './strip.js';

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

const DIGIT_ROWS = 3;

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
function drawWordLines(picture: Picture, region: Region, sentences: readonly Said[]): Region {
  let used = 0;
  for (const { text, tone } of sentences)
    for (const line of wrapText(text, region.columns, 2)) {
      if (used < region.rows) picture.text(region.row + used, region.column, line, tone);
      used = Math.min(region.rows, used + 1);
    }
  return { ...region, row: region.row + used, rows: region.rows - used };
}

/** Lamps as words in one row; those that find no room are left out, the last ones first. */
function drawLampRow(
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
function drawKeys(picture: Picture, region: Region, keys: readonly (readonly [string, string])[]): void {
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
function drawCard(picture: Picture, region: Region, now: NowRow, scene: ViewScene): void {
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
  /** Time to go by the clock, s; NaN when it is not known. */
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

/** `, trim +0.5`: nothing where there is none. */
export const trimWords = (trim_V: number): string =>
  trim_V === 0 ? '' : `, trim ${trim_V > 0 ? '+' : ''}${fixed(trim_V, 2)}`;

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
  // What a box has found is not in its telemetry.
  const found = isBox(scene) || !now.truth ? '' : `, told ${scene.told_V}, found ${fixed(now.truth.found_target_V, 1)}`;
  const trim = isBox(scene) ? trimWords(scene.trim_V) : '';
  heading(picture, layout.voltageRule, 'V', [arc + found + trim, arc], `last ${stripSeconds(layout.voltage)} s`);
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
  if (box) return [space, ['+', 'torch up'], ['-', 'down'], quit];
  return paused ? [space, ['s', '1 ms'], ['→', '10 ms'], quit] : [space, ['+', 'faster'], ['-', 'slower'], quit];
}

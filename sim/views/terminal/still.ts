import { TICKS_PER_S } from '../../base/index.js';
import { clockText, type DrawStyle, fixed, Picture, TONE_QUIET } from '../text/index.js';
import type { SimulatedScene, ViewHistory, WorstMoment } from './history.js';
import { greater, PATH_BIN_MM } from './rings.js';
import { drawSectionView, heading, LABEL_COLUMNS, type Region } from './section.js';
import { worstWords } from './sentences.js';
import { drawBand, standoffScale } from './strip.js';

const OVERVIEW_ROWS = 7;
const SECTION_ROWS = 8;
/** Path shown ahead of a worst moment. */
const AFTER_WORST_MM = 15;
const LEAST_COLUMNS = 40;

/**
 * A picture of a finished run for paper or a log: the standoff along the whole path, least to largest for
 * each column, and the section at the moment when the torch was closest to the sheet.
 *
 * @param columns width; below 40 the picture is 40 wide.
 * @returns lines without trailing spaces; none when nothing was cut.
 */
export function stillPicture(history: ViewHistory<SimulatedScene>, columns: number, style: DrawStyle): string[] {
  const width = Math.max(LEAST_COLUMNS, Math.floor(columns));
  const { lowest } = history;
  if (history.cutting_ticks === 0) return [];
  const worst_rows = lowest === undefined ? 0 : SECTION_ROWS + 3;
  const picture = new Picture(width, OVERVIEW_ROWS + 2 + worst_rows, style);
  drawOverview(picture, { row: 1, column: 0, columns: width, rows: OVERVIEW_ROWS }, history);
  if (lowest !== undefined) drawWorst(picture, OVERVIEW_ROWS + 3, history, lowest);
  return picture.lines().map((line) => line.trimEnd());
}

function drawOverview(picture: Picture, region: Region, { overview, scene }: ViewHistory): void {
  const target_mm = scene.cut_height_mm;
  const target = `target ${fixed(target_mm, 2)} ±${fixed(scene.tolerance_mm, 2)}`;
  heading(
    picture,
    { ...region, row: region.row - 1 },
    'mm',
    [`standoff along the whole path, ${target}`, `standoff, ${target}`],
    'least to largest',
  );
  const largest = greater(target_mm - overview.low(0, overview.count), overview.high(0, overview.count) - target_mm);
  const dots = 2 * (region.columns - LABEL_COLUMNS);
  const binAt = (x: number) => Math.floor((x * overview.count) / dots);
  drawBand(picture, region, standoffScale(target_mm, scene.tolerance_mm, largest), (x) => {
    const from = binAt(x);
    const to = Math.max(from + 1, binAt(x + 1));
    return { low: overview.low(from, to), high: overview.high(from, to), target: target_mm };
  });
  const axis = region.row + region.rows;
  picture.text(axis, LABEL_COLUMNS, '0', TONE_QUIET);
  const length_m = (overview.count * overview.bin_mm) / 1000;
  picture.textBefore(axis, region.columns, `${fixed(length_m, 2)} m of path`, TONE_QUIET);
}

function drawWorst(picture: Picture, row: number, history: ViewHistory<SimulatedScene>, moment: WorstMoment): void {
  const { scene, lowestSection: ring } = history;
  const { path_mm, error_mm, tick } = moment;
  const rows = (first: number, count: number): Region => ({
    row: first,
    column: 0,
    columns: picture.columns,
    rows: count,
  });
  const at = {
    sectionRule: rows(row, 1),
    section: rows(row + 1, SECTION_ROWS),
    pathAxis: rows(row + 1 + SECTION_ROWS, 1),
  };
  const plate_mm = ring.at('plate_mm', Math.floor(path_mm / PATH_BIN_MM));
  const torch = { path_mm, plate_mm, torch_mm: plate_mm + scene.cut_height_mm + error_mm, burning: true };
  const place = `closest: ${worstWords(moment, scene)}`;
  const words = [`${place}, at ${clockText(tick / TICKS_PER_S)}`, place] as const;
  drawSectionView(picture, at, ring, torch, words, scene.thickness_mm, path_mm + AFTER_WORST_MM);
}

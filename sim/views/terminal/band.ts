import { DotCanvas, type Layer } from './canvas.js';
import { type Picture, TONE_ALARM, TONE_PLAIN, TONE_QUIET, TONE_WANTED } from './picture.js';
import { LABEL_COLUMNS, type Region } from './section.js';

const WANTED = 0;
const VALUE = 1;
const OUTSIDE = 2;
const LAYERS: readonly Layer[] = [
  { tone: TONE_WANTED, ascii: [':', ':', ':'] },
  { tone: TONE_PLAIN, ascii: ['`', '-', '.'] },
  { tone: TONE_ALARM, ascii: ['^', '#', 'v'] },
];

/** What one column of dots shows: least and largest value, and what was wanted; NaN for nothing. */
export interface Column {
  readonly low: number;
  readonly high: number;
  readonly wanted: number;
}

export interface BandScale {
  readonly centre: number;
  /** From the centre to the upper and to the lower edge; what lies beyond is drawn on the edge. */
  readonly half: number;
  /** Further from wanted than this is marked as outside. */
  readonly tolerance: number;
  /** Of the labels. */
  readonly decimals: number;
}

/** A curve as a band from least to largest, what was wanted dotted, three labels at the left. */
export function drawBand(picture: Picture, region: Region, scale: BandScale, columnAt: (x: number) => Column): void {
  const { centre, half, tolerance, decimals } = scale;
  const canvas = new DotCanvas(region.columns - LABEL_COLUMNS, region.rows, LAYERS);
  const middle = (canvas.height - 1) / 2;
  const edge = (y: number) => Math.min(canvas.height - 1, Math.max(0, y));
  const y = (value: number) => edge(Math.round(middle - ((value - centre) / half) * middle));
  for (let x = 0; x < canvas.width; x++) {
    const { low, high, wanted } = columnAt(x);
    if (x % 3 === 0 && !Number.isNaN(wanted)) canvas.dot(x, y(wanted), WANTED);
    if (Number.isNaN(low)) continue;
    const outside = low < wanted - tolerance || high > wanted + tolerance;
    canvas.upright(x, y(low), y(high), outside ? OUTSIDE : VALUE);
  }
  canvas.paint(picture, region.row, region.column + LABEL_COLUMNS);

  const label = (row: number, value: number) =>
    picture.textBefore(region.row + row, region.column + LABEL_COLUMNS - 1, value.toFixed(decimals), TONE_QUIET);
  label(0, centre + half);
  if (region.rows > 1) label(region.rows - 1, centre - half);
  if (region.rows % 2 === 1 && region.rows >= 3) label(region.rows >> 1, centre);
}

/** The first of the steps that reaches a value, else the last: a scale that changes seldom. */
export function firstReaching(steps: readonly number[], value: number): number {
  return steps.find((step) => step >= value) ?? steps[steps.length - 1];
}

/** Half heights for a standoff band, mm. */
const STANDOFF_HALVES_MM: readonly number[] = [0.25, 0.5, 1, 2, 5, 10];

/** Scale of a standoff band whose largest deviation is known, mm. */
export function standoffScale(wanted_mm: number, tolerance_mm: number, largest_mm: number): BandScale {
  const half = firstReaching(STANDOFF_HALVES_MM, largest_mm);
  return { centre: wanted_mm, half, tolerance: tolerance_mm, decimals: half < 1 ? 2 : 1 };
}

import { MODE_HOLD, MODE_PIERCE, MODE_SETTLE, MODE_STRIKE } from '../../../firmware/wire/codes.gen.js';
import {
  DotCanvas,
  type Layer,
  type Picture,
  TONE_ALARM,
  TONE_HOLD,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_TARGET,
} from '../text/index.js';
import { greater, lesser, TIME_BIN_MS, type TimeRing } from './rings.js';
import { LABEL_COLUMNS, type Region } from './section.js';

const TARGET = 0;
const VALUE = 1;
const OUTSIDE = 2;
const LAYERS: readonly Layer[] = [
  { tone: TONE_TARGET, ascii: [':', ':', ':'] },
  { tone: TONE_PLAIN, ascii: ['`', '-', '.'] },
  { tone: TONE_ALARM, ascii: ['^', '#', 'v'] },
];

/** What one column of dots shows: least and largest value, and the target; NaN for nothing. */
interface Column {
  readonly low: number;
  readonly high: number;
  readonly target: number;
}

interface BandScale {
  readonly centre: number;
  /** From the centre to the upper and to the lower edge; what lies beyond is drawn on the edge. */
  readonly half: number;
  /** Further from target than this is marked as outside. */
  readonly tolerance: number;
  /** Of the labels. */
  readonly decimals: number;
}

/** A curve as a band from least to largest, the target dotted, three labels at the left. */
export function drawBand(picture: Picture, region: Region, scale: BandScale, columnAt: (x: number) => Column): void {
  const { centre, half, tolerance, decimals } = scale;
  const canvas = new DotCanvas(region.columns - LABEL_COLUMNS, region.rows, LAYERS);
  const middle = (canvas.height - 1) / 2;
  const edge = (y: number) => Math.min(canvas.height - 1, Math.max(0, y));
  const y = (value: number) => edge(Math.round(middle - ((value - centre) / half) * middle));
  for (let x = 0; x < canvas.width; x++) {
    const { low, high, target } = columnAt(x);
    if (x % 3 === 0 && !Number.isNaN(target)) canvas.dot(x, y(target), TARGET);
    if (Number.isNaN(low)) continue;
    const outside = low < target - tolerance || high > target + tolerance;
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
function firstReaching(steps: readonly number[], value: number): number {
  return steps.find((step) => step >= value) ?? steps[steps.length - 1];
}

/** Half heights for a standoff band, mm. */
const STANDOFF_HALVES_MM: readonly number[] = [0.25, 0.5, 1, 2, 5, 10];

/** Scale of a standoff band whose largest deviation is known, mm. */
export function standoffScale(target_mm: number, tolerance_mm: number, largest_mm: number): BandScale {
  const half = firstReaching(STANDOFF_HALVES_MM, largest_mm);
  return { centre: target_mm, half, tolerance: tolerance_mm, decimals: half < 1 ? 2 : 1 };
}

const LEAST_SHOWN_S = 2;
const MOST_SHOWN_S = 10;
const S_PER_COLUMN = 0.08;
/** Half heights of the voltage strip, V: from a quiet arc to a no-load voltage. */
const VOLTAGE_HALVES_V: readonly number[] = [10, 20, 30, 50, 100, 200, 400];

/** Seconds that strips of this width show, newest at the right. */
export function stripSeconds(region: Region): number {
  const fitting_s = (region.columns - LABEL_COLUMNS) * S_PER_COLUMN;
  return Math.min(MOST_SHOWN_S, Math.max(LEAST_SHOWN_S, Math.floor(fitting_s)));
}

/** One curve over time. */
type Curve = (bin: number) => Column;

const NOTHING = { low: Number.NaN, high: Number.NaN };

/**
 * Standoff over the last seconds, enlarged around its target; only while the torch is at work, for a torch on its way
 * up or down has no standoff to speak of.
 */
export function drawStandoffStrip(
  picture: Picture,
  region: Region,
  ring: TimeRing,
  cut_height_mm: number,
  tolerance_mm: number,
): void {
  const curve: Curve = (bin) => {
    const mode = ring.at('mode', bin);
    const working = mode >= MODE_SETTLE && mode <= MODE_HOLD;
    const standoff = { low: ring.at('standoff_low_mm', bin), high: ring.at('standoff_high_mm', bin) };
    return { ...(working ? standoff : NOTHING), target: cut_height_mm };
  };
  const largest_mm = largestDeviation(region, ring, curve);
  drawCurve(picture, region, ring, curve, standoffScale(cut_height_mm, tolerance_mm, largest_mm));
}

/** Arc voltage as the box measures it over the last seconds, around its target. */
export function drawVoltageStrip(picture: Picture, region: Region, ring: TimeRing): void {
  const lit = (bin: number, first_mode: number) => {
    const mode = ring.at('mode', bin);
    return mode >= first_mode && mode <= MODE_HOLD;
  };
  const arc = (bin: number) => ({ low: ring.at('arc_low_V', bin), high: ring.at('arc_high_V', bin) });
  const target = (bin: number) => ring.at('target_V', bin);
  // The scale follows the burning arc, so that 0 V before it and the no-load voltage do not flatten it.
  const steady: Curve = (bin) => ({ ...(lit(bin, MODE_PIERCE) ? arc(bin) : NOTHING), target: target(bin) });
  const curve: Curve = (bin) => ({ ...arc(bin), target: lit(bin, MODE_STRIKE) ? target(bin) : Number.NaN });
  drawCurve(picture, region, ring, curve, {
    centre: Math.round(ring.newest < 0 ? 0 : target(ring.newest)),
    half: firstReaching(VOLTAGE_HALVES_V, largestDeviation(region, ring, steady)),
    tolerance: Number.POSITIVE_INFINITY,
    decimals: 0,
  });
}

/** The lane under the strips: each hold by name, cut to the time it took and filled up with `=`. */
export function drawHoldLane(picture: Picture, region: Region, ring: TimeRing, names: readonly string[]): void {
  let running = 0;
  let begun = 0;
  for (let column = LABEL_COLUMNS; column < region.columns; column++) {
    const { first, last } = binsAt(region, ring, 2 * (column - LABEL_COLUMNS), 2);
    let hold = 0;
    for (let bin = first; bin <= last; bin++)
      if (ring.has(bin) && ring.at('hold', bin) !== 0) hold = ring.at('hold', bin);
    if (hold !== running) begun = column;
    running = hold;
    const letter = hold === 0 ? '·' : ((names[hold] ?? '?')[column - begun] ?? '=');
    picture.text(region.row, region.column + column, letter, hold === 0 ? TONE_QUIET : TONE_HOLD);
  }
}

/** Bins of the ring under dot column x; the right edge of the region is the newest bin. */
function binsAt(region: Region, ring: TimeRing, x: number, width: number): { first: number; last: number } {
  const dots = 2 * (region.columns - LABEL_COLUMNS);
  const bins = (stripSeconds(region) * 1000) / TIME_BIN_MS;
  const end = ring.newest + 1;
  return {
    first: Math.round(end - ((dots - x) * bins) / dots),
    last: Math.round(end - ((dots - x - width) * bins) / dots) - 1,
  };
}

function largestDeviation(region: Region, ring: TimeRing, curve: Curve): number {
  const { first, last } = binsAt(region, ring, 0, 2 * (region.columns - LABEL_COLUMNS));
  let largest = 0;
  for (let bin = Math.max(first, ring.oldest); bin <= last; bin++) {
    const { low, high, target } = curve(bin);
    largest = greater(greater(largest, target - low), high - target);
  }
  return largest;
}

function drawCurve(picture: Picture, region: Region, ring: TimeRing, curve: Curve, scale: BandScale): void {
  drawBand(picture, region, scale, (x) => {
    const { first, last } = binsAt(region, ring, x, 1);
    let all: Column = { ...NOTHING, target: Number.NaN };
    for (let bin = first; bin <= last; bin++) {
      if (!ring.has(bin)) continue;
      const { low, high, target } = curve(bin);
      all = { low: lesser(all.low, low), high: greater(all.high, high), target };
    }
    return all;
  });
}

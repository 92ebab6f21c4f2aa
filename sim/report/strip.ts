import { MODE_HOLD, MODE_PIERCE, MODE_SETTLE, MODE_STRIKE } from '../../firmware/wire/codes.gen.js';
import { DotCanvas, type Layer } from './canvas.js';
import { greater, lesser } from './extremes.js';
import { type Picture, TONE_ALARM, TONE_HOLD, TONE_PLAIN, TONE_QUIET, TONE_WANTED } from './picture.js';
import { LABEL_COLUMNS, type Region } from './section.js';
import { TIME_BIN_MS, type TimeRing } from './time-ring.js';

const WANTED = 0;
const VALUE = 1;
const OUTSIDE = 2;
const LAYERS: readonly Layer[] = [
  { tone: TONE_WANTED, ascii: [':', ':', ':'] },
  { tone: TONE_PLAIN, ascii: ['`', '-', '.'] },
  { tone: TONE_ALARM, ascii: ['^', '#', 'v'] },
];

const LEAST_SHOWN_S = 2;
const MOST_SHOWN_S = 10;
const S_PER_COLUMN = 0.08;

/** Seconds that strips of this width show, newest at the right. */
export function stripSeconds(region: Region): number {
  const wish_s = (region.columns - LABEL_COLUMNS) * S_PER_COLUMN;
  return Math.min(MOST_SHOWN_S, Math.max(LEAST_SHOWN_S, Math.floor(wish_s)));
}

/** One curve over time: least and largest value a bin, and what was wanted. */
interface Curve {
  low(bin: number): number;
  high(bin: number): number;
  wanted(bin: number): number;
}

/**
 * Standoff over the last seconds, enlarged around what is wanted; only while the torch is at work, for a
 * torch on its way up or down has no standoff to speak of.
 */
export function drawStandoffStrip(
  picture: Picture,
  region: Region,
  ring: TimeRing,
  cut_height_mm: number,
  tolerance_mm: number,
): void {
  const working = (bin: number) => ring.mode(bin) >= MODE_SETTLE && ring.mode(bin) <= MODE_HOLD;
  const curve: Curve = {
    low: (bin) => (working(bin) ? ring.standoffLow(bin) : Number.NaN),
    high: (bin) => (working(bin) ? ring.standoffHigh(bin) : Number.NaN),
    wanted: () => cut_height_mm,
  };
  const off_mm = largestDeviation(region, ring, curve);
  const half_mm = firstAtLeast([0.25, 0.5, 1, 2, 5, 10], off_mm);
  drawCurve(picture, region, ring, curve, cut_height_mm, half_mm, tolerance_mm);
  labels(picture, region, cut_height_mm, half_mm, half_mm < 1 ? 2 : 1);
}

/** Arc voltage as the box sees it over the last seconds, around its target. */
export function drawVoltageStrip(picture: Picture, region: Region, ring: TimeRing): void {
  const lit = (bin: number) => ring.mode(bin) >= MODE_STRIKE && ring.mode(bin) <= MODE_HOLD;
  const steady = (bin: number) => ring.mode(bin) >= MODE_PIERCE && ring.mode(bin) <= MODE_HOLD;
  const curve: Curve = {
    low: (bin) => ring.arcLow(bin),
    high: (bin) => ring.arcHigh(bin),
    wanted: (bin) => (lit(bin) ? ring.target(bin) : Number.NaN),
  };
  // The scale follows the burning arc, so that 0 V before it and the no-load voltage do not flatten it.
  const off_V = largestDeviation(region, ring, {
    low: (bin) => (steady(bin) ? ring.arcLow(bin) : Number.NaN),
    high: (bin) => (steady(bin) ? ring.arcHigh(bin) : Number.NaN),
    wanted: (bin) => ring.target(bin),
  });
  const centre_V = Math.round(ring.newest < 0 ? 0 : ring.target(ring.newest));
  const half_V = firstAtLeast([10, 20, 30, 50, 100, 200, 400], off_V);
  drawCurve(picture, region, ring, curve, centre_V, half_V, Number.POSITIVE_INFINITY);
  labels(picture, region, centre_V, half_V, 0);
}

/** The lane under the strips: each hold by name, cut to the time it took and filled up with `=`. */
export function drawHoldLane(picture: Picture, region: Region, ring: TimeRing, names: readonly string[]): void {
  let running = 0;
  let begun = 0;
  for (let column = LABEL_COLUMNS; column < region.columns; column++) {
    const { first, last } = binsAt(region, ring, 2 * (column - LABEL_COLUMNS), 2);
    let hold = 0;
    for (let bin = first; bin <= last; bin++) if (ring.has(bin) && ring.hold(bin) !== 0) hold = ring.hold(bin);
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
  const dots = 2 * (region.columns - LABEL_COLUMNS);
  const { first, last } = binsAt(region, ring, 0, dots);
  let largest = 0;
  for (let bin = Math.max(first, ring.oldest); bin <= last; bin++) {
    const below = curve.wanted(bin) - curve.low(bin);
    const above = curve.high(bin) - curve.wanted(bin);
    if (below > largest) largest = below;
    if (above > largest) largest = above;
  }
  return largest;
}

function firstAtLeast(steps: readonly number[], value: number): number {
  return steps.find((step) => step >= value) ?? steps[steps.length - 1];
}

function drawCurve(
  picture: Picture,
  region: Region,
  ring: TimeRing,
  curve: Curve,
  centre: number,
  half: number,
  tolerance: number,
): void {
  const canvas = new DotCanvas(region.columns - LABEL_COLUMNS, region.rows, LAYERS);
  const middle = (canvas.height - 1) / 2;
  const edge = (y: number) => Math.min(canvas.height - 1, Math.max(0, y));
  const y = (value: number) => edge(Math.round(middle - ((value - centre) / half) * middle));
  for (let x = 0; x < canvas.width; x++) {
    const { first, last } = binsAt(region, ring, x, 1);
    let low = Number.NaN;
    let high = Number.NaN;
    let wanted = Number.NaN;
    for (let bin = first; bin <= last; bin++) {
      if (!ring.has(bin)) continue;
      low = lesser(low, curve.low(bin));
      high = greater(high, curve.high(bin));
      wanted = curve.wanted(bin);
    }
    if (x % 3 === 0 && !Number.isNaN(wanted)) canvas.dot(x, y(wanted), WANTED);
    if (Number.isNaN(low)) continue;
    const outside = low < wanted - tolerance || high > wanted + tolerance;
    canvas.upright(x, y(low), y(high), outside ? OUTSIDE : VALUE);
  }
  canvas.paint(picture, region.row, region.column + LABEL_COLUMNS);
}

/** Top, bottom and, when there is room, the middle of the scale. */
function labels(picture: Picture, region: Region, centre: number, half: number, decimals: number): void {
  const end = region.column + LABEL_COLUMNS - 1;
  picture.textBefore(region.row, end, (centre + half).toFixed(decimals), TONE_QUIET);
  if (region.rows > 1)
    picture.textBefore(region.row + region.rows - 1, end, (centre - half).toFixed(decimals), TONE_QUIET);
  if (region.rows % 2 === 1 && region.rows >= 3)
    picture.textBefore(region.row + (region.rows >> 1), end, centre.toFixed(decimals), TONE_QUIET);
}

import { MODE_HOLD, MODE_PIERCE, MODE_SETTLE, MODE_STRIKE } from '../../../firmware/wire/codes.gen.js';
import { type BandScale, drawBand, firstReaching, standoffScale } from './band.js';
import { greater, lesser } from './extremes.js';
import { type Picture, TONE_HOLD, TONE_QUIET } from './picture.js';
import { LABEL_COLUMNS, type Region } from './section.js';
import { TIME_BIN_MS, type TimeRing } from './time-ring.js';

const LEAST_SHOWN_S = 2;
const MOST_SHOWN_S = 10;
const S_PER_COLUMN = 0.08;
/** Half heights of the voltage strip, V: from a quiet arc to a no-load voltage. */
const VOLTAGE_HALVES_V: readonly number[] = [10, 20, 30, 50, 100, 200, 400];

/** Seconds that strips of this width show, newest at the right. */
export function stripSeconds(region: Region): number {
  const wish_s = (region.columns - LABEL_COLUMNS) * S_PER_COLUMN;
  return Math.min(MOST_SHOWN_S, Math.max(LEAST_SHOWN_S, Math.floor(wish_s)));
}

/** One curve over time: least and largest value a bin, and what was wanted; NaN for nothing. */
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
  const largest_mm = largestDeviation(region, ring, curve);
  drawCurve(picture, region, ring, curve, standoffScale(cut_height_mm, tolerance_mm, largest_mm));
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
  const largest_V = largestDeviation(region, ring, {
    low: (bin) => (steady(bin) ? ring.arcLow(bin) : Number.NaN),
    high: (bin) => (steady(bin) ? ring.arcHigh(bin) : Number.NaN),
    wanted: (bin) => ring.target(bin),
  });
  drawCurve(picture, region, ring, curve, {
    centre: Math.round(ring.newest < 0 ? 0 : ring.target(ring.newest)),
    half: firstReaching(VOLTAGE_HALVES_V, largest_V),
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

function drawCurve(picture: Picture, region: Region, ring: TimeRing, curve: Curve, scale: BandScale): void {
  drawBand(picture, region, scale, (x) => {
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
    return { low, high, wanted };
  });
}

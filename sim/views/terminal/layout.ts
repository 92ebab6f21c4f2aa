import type { Region } from './section.js';

export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** Below this there is only one line of status. */
export const LEAST_SIZE: Size = { columns: 40, rows: 12 };

const CARD_COLUMNS = 25;

/** Where each part of a frame goes; a part that found no room is absent. */
export interface Layout {
  readonly title: Region;
  /** Sentences: what happens, why, and the judgement until now. */
  readonly words: Region;
  /** Words for the outputs in one row, when there is no card. */
  readonly lamps: Region | undefined;
  /** Column of figures on the right, large enough to read from a step away. */
  readonly card: Region | undefined;
  readonly sectionRule: Region;
  readonly section: Region;
  readonly pathAxis: Region | undefined;
  readonly standoffRule: Region | undefined;
  readonly standoff: Region | undefined;
  readonly voltageRule: Region;
  readonly voltage: Region;
  readonly holdLane: Region | undefined;
  readonly progress: Region;
  readonly keys: Region;
}

/**
 * Share out the rows: sentences first, then the section, then the strips. More room makes the pictures
 * larger; it never adds words.
 * @param size at least LEAST_SIZE.
 */
export function layoutFor(size: Size): Layout {
  const { columns, rows } = size;
  let next = 0;
  const take = (count: number, width = columns): Region => {
    const region = { row: next, column: 0, columns: width, rows: count };
    next += count;
    return region;
  };

  const title = take(1);
  const words = take(rows >= 18 ? 3 : 2);
  const wide = columns >= 76 && rows >= 24;
  const lamps = wide ? undefined : take(1);
  const left = wide ? columns - CARD_COLUMNS - 2 : columns;
  const free = rows - next - 2;
  const card = wide ? { row: next, column: columns - CARD_COLUMNS, columns: CARD_COLUMNS, rows: free } : undefined;

  const with_lane = free >= 8;
  const with_standoff = free >= 14;
  const with_axis = free >= 15;
  const rules = 2 + (with_standoff ? 1 : 0);
  const picture = free - rules - (with_lane ? 1 : 0) - (with_axis ? 1 : 0);
  // Strips have an odd number of rows, so that what is wanted runs through the middle of one.
  const strip = with_standoff
    ? Math.max(3, 2 * Math.floor(picture / 8) + 1)
    : picture >= 7
      ? 3
      : Math.max(1, picture - 3);
  const section_rows = picture - strip * (with_standoff ? 2 : 1);

  const sectionRule = take(1, left);
  const section = take(section_rows, left);
  const pathAxis = with_axis ? take(1, left) : undefined;
  const standoffRule = with_standoff ? take(1, left) : undefined;
  const standoff = with_standoff ? take(strip, left) : undefined;
  const voltageRule = take(1, left);
  const voltage = take(strip, left);
  const holdLane = with_lane ? take(1, left) : undefined;
  return {
    title,
    words,
    lamps,
    card,
    sectionRule,
    section,
    pathAxis,
    standoffRule,
    standoff,
    voltageRule,
    voltage,
    holdLane,
    progress: take(1),
    keys: take(1),
  };
}

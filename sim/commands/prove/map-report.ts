import { type Cell, type GainMap, type MapAxis, type MapCentre, regionOf } from '../../campaign/index.js';
import {
  asciiText,
  type TerminalStyle,
  TONE_ALARM,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
  toned,
  wrapText,
} from '../../views/text/index.js';
import { type MapWish, mapSentences } from './map-words.js';

/** Characters of a cell: with the marks of region and places, or the bare digit where the map is wide. */
const WIDE = 3;

/**
 * The map in characters: a digit says how many tenths of the cuts met the wishes (9: nine tenths or more), `x` that a requirement
 * was broken in some cut, `+` the region, `[ ]` its middle, `( )` the present values. Colour only repeats this.
 */
export function mapText(map: GainMap, centre: MapCentre | undefined, wish: MapWish, style: TerminalStyle): string {
  const lines = [...picture(map, centre, style), ''];
  const say = (text: string) => lines.push(...wrapText(text, style.columns, 2));
  say(
    `A digit: tenths of ${wish.cuts} cuts that met the wishes for following; x: a requirement was broken in at least one; ` +
      '+: the region. The same cuts for every pair.',
  );
  for (const sentence of mapSentences(map, centre, wish, MARKS)) say(sentence);
  const text = `${lines.join('\n')}\n`;
  return style.unicode ? text : asciiText(text);
}

const MARKS = { region: ' +', middle: ' [ ]', present: ' ( )', refused: ' -' };

const label = (value: number) => String(Number(value.toPrecision(3)));

function picture(map: GainMap, centre: MapCentre | undefined, style: TerminalStyle): string[] {
  const { x, y, cells } = map;
  const margin = Math.max(...y.values.map((value) => label(value).length)) + 1;
  const room = style.columns - margin;
  const width = room >= WIDE * x.values.length ? WIDE : 1;
  if (room < width * x.values.length) {
    return [
      `The map is wider than these ${style.columns} columns: --out map.html draws it, fewer --steps make it fit.`,
    ];
  }
  const region = regionOf(map);
  const now = [nearestTo(x), nearestTo(y)];
  const rows = cells.map((row, at) => {
    const marks = row.map((cell, column) => {
      const inside = region[at]![column]!;
      const chosen = centre !== undefined && centre.x === x.values[column] && centre.y === y.values[at];
      const present = now[0] === column && now[1] === at;
      const mark = markOf(cell);
      const ends = chosen ? '[]' : present ? '()' : inside ? ' +' : '  ';
      const tone = mark === 'x' ? TONE_ALARM : chosen ? TONE_STRONG : inside ? TONE_PLAIN : TONE_QUIET;
      return toned(width === WIDE ? ends[0] + mark + ends[1] : mark, tone, style);
    });
    return `${label(y.values[at]!).padStart(margin - 1)} ${marks.join('')}`;
  });
  const head = `${y.name} ${y.unit}`.trimEnd();
  return [
    head,
    ...rows.toReversed(),
    scale(x, margin, width),
    `${' '.repeat(margin)}${`${x.name} ${x.unit}`.trimEnd()}`,
  ];
}

const markOf = ({ cuts, kept, met }: Cell): string =>
  cuts === 0 ? '-' : kept < cuts ? 'x' : String(Math.min(9, Math.floor((10 * met) / cuts)));

/** The place that lies nearest to the present value, or undefined where the map does not reach it. */
function nearestTo({ values, present }: MapAxis): number | undefined {
  const step = (values.at(-1)! - values[0]!) / (values.length - 1);
  if (present < values[0]! - step / 2 || present > values.at(-1)! + step / 2) return undefined;
  const distances = values.map((value) => Math.abs(value - present));
  return distances.indexOf(Math.min(...distances));
}

/** As many values below the columns as there is room for. */
function scale({ values }: MapAxis, margin: number, width: number): string {
  let line = ' '.repeat(margin);
  values.forEach((value, column) => {
    const at = margin + column * width;
    const text = label(value);
    const free = column === 0 || line.length < at;
    const before_last = column === values.length - 1 || at + text.length < margin + (values.length - 1) * width;
    if (free && before_last) line = line.padEnd(at) + text;
  });
  return line;
}

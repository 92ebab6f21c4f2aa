import { type Cell, type GainMap, type MapCentre, regionOf } from '../../campaign/index.js';
import { type MapRequest, mapSentences } from './map-text.js';

// Apart from map-text.ts: the same map as a drawing.
const CELL = 40;
const LEFT = 90;
const TOP = 20;
const BOTTOM = 150;
/** The legend needs this much, however few the columns. */
const LEAST_WIDTH = 470;

const marked = (text: string) => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

/**
 * The map as a drawing of its own: light to dark by the share of cuts that met the quality goals, hatched where a
 * requirement was broken, framed in the region. It is read by lightness, pattern, number and line; no two colours have to be told apart.
 */
export function mapSvg(map: GainMap, centre: MapCentre | undefined): string {
  const { x, y, cells } = map;
  const region = regionOf(map);
  const width = Math.max(LEAST_WIDTH, LEFT + CELL * x.values.length + 20);
  const height = TOP + CELL * y.values.length + BOTTOM;
  const parts: string[] = [];
  cells.forEach((row, at) => {
    row.forEach((cell, column) => {
      const left = LEFT + CELL * column;
      const top = TOP + CELL * (y.values.length - 1 - at);
      const { mark, fill, dark } = look(cell);
      const edge = region[at][column] ? ' stroke="#111" stroke-width="2.5"' : ' stroke="#fff"';
      const title =
        `${x.name} ${x.values[column]}, ${y.name} ${y.values[at]}: every requirement kept in ${cell.kept} of ${cell.cuts} cuts, ` +
        `quality goals met in ${cell.goals_met}`;
      parts.push(
        `<rect x="${left + 1}" y="${top + 1}" width="${CELL - 2}" height="${CELL - 2}" fill="${fill}"${edge}><title>${marked(title)}</title></rect>`,
        `<text x="${left + CELL / 2}" y="${top + CELL / 2 + 4}" text-anchor="middle" fill="${dark ? '#fff' : '#222'}">${mark}</text>`,
      );
      if (centre?.x === x.values[column] && centre?.y === y.values[at]) {
        parts.push(ring(left + CELL / 2, top + CELL / 2, RADIUS));
      }
    });
  });
  const short = (value: number) => String(Number(value.toPrecision(3)));
  x.values.forEach((value, column) => {
    parts.push(
      `<text x="${LEFT + CELL * (column + 0.5)}" y="${height - BOTTOM + 18}" text-anchor="middle">${short(value)}</text>`,
    );
  });
  y.values.forEach((value, at) => {
    parts.push(
      `<text x="${LEFT - 8}" y="${TOP + CELL * (y.values.length - at - 0.5) + 4}" text-anchor="end">${short(value)}</text>`,
    );
  });
  const now = presentPlace(map);
  if (now) parts.push(ring(now[0], now[1], RADIUS, STROKES));
  const foot = height - BOTTOM + 42;
  const line = (at: number, text: string, indent = 0) =>
    parts.push(`<text x="${8 + indent}" y="${foot + 20 * at}">${marked(text)}</text>`);
  line(0, `to the right ${x.name} ${x.unit}; upwards ${y.name} ${y.unit}`.replace(' ;', ';'));
  line(1, 'number: percent of the cuts that met the quality goals for following; the darker the more');
  line(2, 'hatched, x: a requirement was broken in at least one cut; –: the box refuses to start');
  line(3, 'black frame: every requirement kept, standoff held nearly as well as at best');
  parts.push(ring(16, foot + 76, 8), ring(176, foot + 76, 8, STROKES));
  line(4, 'middle of the region', 22);
  line(4, 'in the box now', 182);
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" font-family="sans-serif" font-size="12">`,
    '<defs><pattern id="broken" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">' +
      '<rect width="6" height="6" fill="#fdd"/><rect width="2" height="6" fill="#b00"/></pattern></defs>',
    `<rect width="${width}" height="${height}" fill="#fff"/>`,
    ...parts,
    '</svg>',
    '',
  ].join('\n');
}

function look({ cuts, kept, goals_met }: Cell): { mark: string; fill: string; dark: boolean } {
  if (cuts === 0) return { mark: '–', fill: '#eee', dark: false };
  if (kept < cuts) return { mark: 'x', fill: 'url(#broken)', dark: false };
  const share = goals_met / cuts;
  return {
    mark: String(Math.round(100 * share)),
    fill: `hsl(210 60% ${Math.round(95 - 60 * share)}%)`,
    dark: share > 0.75,
  };
}

/** White below black shows on every ground; broken into strokes for the present values. */
function ring(x: number, y: number, radius: number, strokes = ''): string {
  const circle = (colour: string, width: number, more: string) =>
    `<circle cx="${x}" cy="${y}" r="${radius}" fill="none" stroke="${colour}" stroke-width="${width}"${more}/>`;
  return circle('#fff', 5, '') + circle('#111', 2.5, strokes);
}

const STROKES = ' stroke-dasharray="5 4"';
const RADIUS = CELL / 2 - 4;

/** Where the present values lie in the drawing, between the cells as they are; undefined where the map does not reach. */
function presentPlace({ x, y }: GainMap): readonly [number, number] | undefined {
  const along = ({ values, present }: GainMap['x']) =>
    ((present - values[0]) / (values.at(-1)! - values[0])) * (values.length - 1);
  const column = along(x);
  const row = along(y);
  const inside = (at: number, count: number) => at >= -0.5 && at <= count - 0.5;
  if (!inside(column, x.values.length) || !inside(row, y.values.length)) return undefined;
  return [LEFT + CELL * (column + 0.5), TOP + CELL * (y.values.length - row - 0.5)];
}

const NO_MARKS = { region: '', middle: '', present: '', refused: '' };

/** The drawing with what it shows in words; one file without anything from outside. */
export function mapHtml(map: GainMap, centre: MapCentre | undefined, request: MapRequest): string {
  const words = mapSentences(map, centre, request, NO_MARKS).map((sentence) => `<p>${marked(sentence)}</p>`);
  return [
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Map of two parameters</title>',
    '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'">',
    '<style>body{font:16px/1.5 sans-serif;max-width:60em;margin:2em auto;padding:0 1em}svg{max-width:100%;height:auto}</style>',
    `<h1>${marked(map.x.name)} and ${marked(map.y.name)}</h1>`,
    mapSvg(map, centre),
    `<p>The same ${request.cuts} random cuts were made for every pair.</p>`,
    ...words,
    '</html>',
    '',
  ].join('\n');
}

import { type GainMap, type MapCentre, regionOf } from '../fuzz/index.js';

const CELL = 40;
const LEFT = 90;
const TOP = 20;
const BOTTOM = 60;

const marked = (text: string) => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

/** The map as a drawing of its own: grey to blue by the share of cuts that met the wishes, hatched where a law was broken. */
export function mapSvg(map: GainMap, centre: MapCentre | undefined): string {
  const { x, y, cells } = map;
  const region = regionOf(map);
  const width = LEFT + CELL * x.values.length + 20;
  const height = TOP + CELL * y.values.length + BOTTOM;
  const parts: string[] = [];
  cells.forEach((row, at) => {
    row.forEach((cell, column) => {
      const left = LEFT + CELL * column;
      const top = TOP + CELL * (y.values.length - 1 - at);
      const share = cell.met / cell.cuts;
      const broken = cell.kept < cell.cuts;
      const fill = broken ? 'url(#broken)' : `hsl(210 60% ${Math.round(95 - 55 * share)}%)`;
      const edge = region[at]![column] ? ' stroke="#0a5" stroke-width="2"' : ' stroke="#fff"';
      const title =
        `${x.name} ${x.values[column]}, ${y.name} ${y.values[at]}: every law kept in ${cell.kept} of ${cell.cuts} cuts, ` +
        `wishes met in ${cell.met}`;
      parts.push(
        `<rect x="${left + 1}" y="${top + 1}" width="${CELL - 2}" height="${CELL - 2}" fill="${fill}"${edge}><title>${marked(title)}</title></rect>`,
        `<text x="${left + CELL / 2}" y="${top + CELL / 2 + 4}" text-anchor="middle" fill="${share > 0.6 && !broken ? '#fff' : '#222'}">${broken ? 'x' : Math.round(100 * share)}</text>`,
      );
      if (centre?.x === x.values[column] && centre?.y === y.values[at]) {
        parts.push(
          `<circle cx="${left + CELL / 2}" cy="${top + CELL / 2}" r="${CELL / 2 - 4}" fill="none" stroke="#c40" stroke-width="3"/>`,
        );
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
  parts.push(
    `<text x="${LEFT}" y="${height - BOTTOM + 40}">${marked(`${x.name} ${x.unit}`)}; upwards ${marked(`${y.name} ${y.unit}`)}</text>`,
  );
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

/** The drawing with what it shows in words; one file without anything from outside. */
export function mapHtml(map: GainMap, centre: MapCentre | undefined): string {
  const { x, y } = map;
  const words =
    centre === undefined
      ? 'There is no pair for which every law was kept in every cut.'
      : `The circle lies farthest from every edge of the region with a green border: ${x.name} ${centre.x} ${x.unit}, ${y.name} ${centre.y} ${y.unit}.`;
  return [
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Map of two parameters</title>',
    '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'">',
    '<style>body{font:16px/1.5 sans-serif;max-width:60em;margin:2em auto;padding:0 1em}</style>',
    `<h1>${marked(x.name)} and ${marked(y.name)}</h1>`,
    mapSvg(map, centre),
    `<p>Number: percent of the cuts that met the wishes for following. Hatched: a law was broken in at least one cut. ${marked(words)}</p>`,
    '<p>The same random cuts were made for every pair. This speaks of the ranges that were drawn from, on this model; nothing else.</p>',
    '</html>',
    '',
  ].join('\n');
}

import type { GainMap, MapCentre } from '../fuzz/index.js';
import { regionOf } from '../fuzz/index.js';
import { asciiText, type TerminalStyle } from '../report/index.js';
import { wrapText } from '../report/text.js';

const GREEN = '\x1b[32m';
const RED = '\x1b[31m';
const PLAIN = '\x1b[0m';

/**
 * The map in characters: a digit says how many tenths of the cuts met every wish (9: nine tenths or more), `x` that a law
 * was broken in some cut, `[ ]` the chosen pair. Colour only repeats what the characters say.
 */
export function mapText(map: GainMap, centre: MapCentre | undefined, cuts: number, style: TerminalStyle): string {
  const region = regionOf(map);
  const { x, y, cells } = map;
  const label = (value: number) => String(Number(value.toPrecision(3)));
  const margin = Math.max(...y.values.map((value) => label(value).length));
  const lines: string[] = [`${y.name} ${y.unit}`.trimEnd()];
  for (let row = cells.length - 1; row >= 0; row--) {
    const marks = cells[row]!.map((cell, column) => {
      const chosen = centre !== undefined && centre.x === x.values[column] && centre.y === y.values[row];
      const mark = cell.kept < cell.cuts ? 'x' : String(Math.min(9, Math.floor((10 * cell.met) / cell.cuts)));
      const text = chosen ? `[${mark}]` : ` ${mark} `;
      if (!style.colour) return text;
      return mark === 'x' ? `${RED}${text}${PLAIN}` : region[row]![column] ? `${GREEN}${text}${PLAIN}` : text;
    });
    lines.push(`${label(y.values[row]!).padStart(margin)} ${marks.join('')}`);
  }
  const first = label(x.values[0]!);
  const last = label(x.values.at(-1)!);
  lines.push(`${' '.repeat(margin + 2)}${first}${last.padStart(Math.max(1, 3 * x.values.length - first.length - 1))}`);
  lines.push(`${' '.repeat(margin + 2)}${x.name} ${x.unit}`.trimEnd());
  const say = (text: string) => lines.push(...wrapText(text, style.columns, 2));
  lines.push('');
  say(
    `A digit: tenths of ${cuts} cuts that met the wishes for following; x: a law was broken in at least one. The same cuts ` +
      'for every pair.',
  );
  if (centre === undefined) say('There is no pair for which every law was kept in every cut.');
  else {
    const { left, right, lower, upper } = centre.edges;
    const side = ({ distance, open }: { distance: number; open: boolean }) =>
      `${Number(distance.toPrecision(3))}${open ? ' or more' : ''}`;
    say(
      `[ ] lies farthest from every edge of the region in which every law was kept and the standoff was held at most a quarter worse than at best: ${x.name} ${centre.x}, ${y.name} ${centre.y}.`,
    );
    say(
      `Room in ${x.name}: ${side(left)} down, ${side(right)} up; in ${y.name}: ${side(lower)} down, ${side(upper)} up.`,
    );
    say(`In the box now: ${x.name} ${x.present}, ${y.name} ${y.present}.`);
    say(`Try it: standoff simulate --set ${x.name}=${centre.x} --set ${y.name}=${centre.y}`);
  }
  const worst = cells.flat().reduce((a, b) => ((b.worst_margin ?? 1e9) < (a.worst_margin ?? 1e9) ? b : a));
  if (worst.worst_margin !== null) {
    say(`Least margin of all: ${worst.worst_law} ${Number(worst.worst_margin.toPrecision(3))} ${worst.worst_unit}.`);
  }
  say('This speaks of the ranges that were drawn from, on this model; nothing else.');
  const text = `${lines.join('\n')}\n`;
  return style.unicode ? text : asciiText(text);
}

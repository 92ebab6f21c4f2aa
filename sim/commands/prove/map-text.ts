// A map in words and as a table; apart from map.ts, which runs and draws it, and would be too long with it.
import {
  type Cell,
  chanceBound,
  type GainMap,
  type MapAxis,
  type MapCentre,
  presentIsGood,
  regionOf,
  widerRange,
  worstCell,
} from '../../campaign/index.js';
import {
  asciiText,
  counted,
  type TerminalStyle,
  TONE_ALARM,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
  toned,
  wrapText,
} from '../../views/text/index.js';
import { shellWords } from '../base/command-line.js';
import { type GivenInput, inputWords } from '../base/inputs.js';

/** What the map was asked with and goes into the commands that follow from it. */
export interface MapRequest extends GivenInput {
  readonly cuts: number;
  /** The command line as it was given, from `map` on. */
  readonly args: readonly string[];
  /** Where the setup with the chosen values was written. */
  readonly stored: string | undefined;
}

/** A value as it is read: four digits at most. */
export const short = (value: number) => String(Number(value.toPrecision(4)));
const quantity = (value: number, unit: string) => `${short(value)} ${unit}`.trimEnd();
const pair = ({ x, y }: GainMap, at_x: number, at_y: number) =>
  `${x.name} ${quantity(at_x, x.unit)}, ${y.name} ${quantity(at_y, y.unit)}`;

/** How a picture marks the region, its middle and the present place: nothing, where a legend says it. */
export interface MapMarks {
  readonly region: string;
  readonly middle: string;
  readonly present: string;
  readonly refused: string;
}

/** What a map says in words: the best place, the room around it, the present place, and what to type next. */
export function mapSentences(
  map: GainMap,
  centre: MapCentre | undefined,
  request: MapRequest,
  marks: MapMarks,
): string[] {
  const { x, y, present } = map;
  const untried = map.cells.flat().filter((cell) => cell.cuts === 0).length;
  const now = `In the box now${marks.present}: ${pair(map, x.present, y.present)}: ${cellText(present)}`;
  return [
    `Cut, in turn: ${map.programs.join(', ')}.`,
    ...(untried > 0
      ? [
          `${counted(untried, 'pair')} of values${marks.refused} are refused, such as by another parameter that contradicts them: nothing was cut there.`,
        ]
      : []),
    ...(centre ? centreSentences(map, centre, marks) : [noMiddle(map)]),
    presentIsGood(map) ? `${now}, within the region.` : `${now}, outside the region.`,
    ...leastSentence(map),
    'This speaks of the ranges that were drawn from, on this model; nothing else. ' +
      `A requirement that was kept in all ${request.cuts} cuts of a pair is broken in fewer than ` +
      `${Number((100 * chanceBound(request.cuts)).toPrecision(2))} % of such cuts, with 95 % confidence.`,
    ...(centre ? nextSteps(map, centre, request) : otherSteps(map, request)),
  ];
}

function cellText({ cuts, kept, goals_met, stopped, following_p999_mm }: Cell): string {
  if (cuts === 0) return 'refused, nothing was cut';
  const held = following_p999_mm === null ? '' : `, 99.9 % of following within ${short(following_p999_mm)} mm`;
  const ends = stopped === 0 ? '' : `, ${stopped} stopped before their end`;
  return `every requirement kept in ${kept} of ${cuts} cuts${ends}${held}, quality goals for following met in ${goals_met}`;
}

function centreSentences(map: GainMap, centre: MapCentre, marks: MapMarks): string[] {
  const { x, y } = map;
  const { left, right, lower, upper } = centre.edges;
  const side = ({ distance, open }: { distance: number; open: boolean }) =>
    `${short(distance)}${open ? ' (there the map ends)' : ''}`;
  return [
    `The region${marks.region}: every requirement kept in every cut, the quality goals for following met in half of them at least, and the standoff held at most a quarter worse than at best: ${counted(centre.cells, 'pair')}.`,
    `Its middle${marks.middle}: ${pair(map, centre.x, centre.y)}: ${cellText(centre.cell)}.`,
    `Room around it: ${x.name} down ${side(left)}, up ${side(right)}; ${y.name} down ${side(lower)}, up ${side(upper)}.`,
  ];
}

function noMiddle(map: GainMap): string {
  const cells = map.cells.flat();
  const inside = regionOf(map).flat().filter(Boolean).length;
  if (inside > 0) {
    return `${counted(inside, 'pair')} of values keep requirements and goals, but only at an edge of the map, beyond which nothing was tried: there is no middle.`;
  }
  if (cells.every(({ cuts, kept }) => cuts === 0 || kept < cuts)) {
    return 'There is no region: there is no pair for which every requirement was kept in every cut.';
  }
  const whole = cells.filter(({ cuts, kept }) => cuts > 0 && kept === cuts);
  const most = Math.max(...whole.map(({ goals_met }) => goals_met));
  return (
    'There is no region: no pair keeps every requirement in every cut and meets the quality goals for following in half of them. ' +
    `At most ${most} of the cuts of a pair met them.`
  );
}

function leastSentence(map: GainMap): string[] {
  const worst = worstCell(map);
  if (worst === undefined) return [];
  return [
    `Least margin of all: ${worst.worst_requirement}, ${quantity(worst.worst_margin!, worst.worst_unit)}, in cut ${worst.worst_case}.`,
  ];
}

/** What to type where there is no middle. */
function otherSteps(map: GainMap, request: MapRequest): string[] {
  const { x, y } = map;
  const region = regionOf(map);
  const ends = (cells: readonly boolean[]) => cells.some(Boolean);
  const column = (at: number) => ends(region.map((row) => row.at(at)!));
  const wider_x = widened(x, column(0), column(-1));
  const wider_y = widened(y, ends(region[0]), ends(region.at(-1)!));
  const not_stored = request.args.includes('--store') ? ['No setup was written: there is no middle.'] : [];
  if (wider_x || wider_y) {
    const axes = ['--x', wider_x ?? rangeOf(x), '--y', wider_y ?? rangeOf(y)];
    return [...not_stored, `A wider map: standoff map ${shellWords([...inputWords(request), ...axes])}`];
  }
  if (map.cells.flat().some(({ cuts, kept }) => cuts > 0 && kept === cuts)) {
    const words = inputWords(request);
    return [
      ...not_stored,
      `What spoils the standoff, and whether gains help: standoff tune ${shellWords([...words, '--vary', x.name, '--vary', y.name])}`,
    ];
  }
  return [
    ...not_stored,
    `What breaks a requirement: standoff fuzz ${shellWords([...inputWords(request), '--cases', 'found'])}`,
  ];
}

function nextSteps({ x, y }: GainMap, { x: at_x, y: at_y, edges }: MapCentre, request: MapRequest): string[] {
  const chosen = ['--set', `${x.name}=${at_x}`, '--set', `${y.name}=${at_y}`];
  const wider_x = widened(x, edges.left.open, edges.right.open);
  const wider_y = widened(y, edges.lower.open, edges.upper.open);
  const axes = ['--x', wider_x ?? rangeOf(x), '--y', wider_y ?? rangeOf(y)];
  const kept =
    request.stored === undefined
      ? `Into a setup file: standoff ${shellWords([...request.args, '--store', 'better.yaml'])}; or by hand, in section box: ${x.name}: ${at_x}, ${y.name}: ${at_y}`
      : `${request.stored} is the setup with these values. Try it on many cuts: standoff fuzz ${shellWords(inputWords({ ...request, setup: request.stored, set: [], range: [] }))}`;
  return [
    ...(wider_x || wider_y
      ? [
          `The region goes on beyond the map; a wider one: standoff map ${shellWords([...inputWords(request), ...axes])}`,
        ]
      : []),
    `See the middle: standoff simulate ${shellWords([...inputWords({ ...request, range: [] }), ...chosen])}`,
    kept,
  ];
}

const rangeOf = ({ name, values }: MapAxis) => `${name}=${values[0]}:${values.at(-1)}`;

/** The axis with more room where the region reaches the end of the map; undefined where the box takes no more. */
function widened(axis: MapAxis, down: boolean, up: boolean): string | undefined {
  const range = widerRange(axis, down, up);
  return range && `${axis.name}=${range.join(':')}`;
}

/** Characters of a cell: with the marks of region and places, or the bare digit where the map is wide. */
const WIDE = 3;

/**
 * The map in characters: a digit says how many tenths of the cuts met the quality goals (9: nine tenths or more), `x` that
 * a requirement was broken in some cut, `+` the region, `[ ]` its middle, `( )` the present values. Colour only repeats this.
 */
export function mapText(
  map: GainMap,
  centre: MapCentre | undefined,
  request: MapRequest,
  style: TerminalStyle,
): string {
  const lines = [...picture(map, centre, style), ''];
  const say = (text: string) => lines.push(...wrapText(text, style.columns, 2));
  say(
    `A digit: tenths of ${request.cuts} cuts that met the quality goals for following; x: a requirement was broken in at least one; ` +
      '+: the region. The same cuts for every pair.',
  );
  for (const sentence of mapSentences(map, centre, request, MARKS)) say(sentence);
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
      const inside = region[at][column];
      const chosen = centre !== undefined && centre.x === x.values[column] && centre.y === y.values[at];
      const present = now[0] === column && now[1] === at;
      const mark = markOf(cell);
      const ends = chosen ? '[]' : present ? '()' : inside ? ' +' : '  ';
      const tone = mark === 'x' ? TONE_ALARM : chosen ? TONE_STRONG : inside ? TONE_PLAIN : TONE_QUIET;
      return toned(width === WIDE ? ends[0] + mark + ends[1] : mark, tone, style);
    });
    return `${label(y.values[at]).padStart(margin - 1)} ${marks.join('')}`;
  });
  const head = `${y.name} ${y.unit}`.trimEnd();
  return [
    head,
    ...rows.toReversed(),
    scale(x, margin, width),
    `${' '.repeat(margin)}${`${x.name} ${x.unit}`.trimEnd()}`,
  ];
}

const markOf = ({ cuts, kept, goals_met }: Cell): string =>
  cuts === 0 ? '-' : kept < cuts ? 'x' : String(Math.min(9, Math.floor((10 * goals_met) / cuts)));

/** The place that lies nearest to the present value, or undefined where the map does not reach it. */
function nearestTo({ values, present, logarithmic }: MapAxis): number | undefined {
  const scale = (value: number) => (logarithmic ? Math.log(value) : value);
  const step = (scale(values.at(-1)!) - scale(values[0])) / (values.length - 1);
  const distances = values.map((value) => Math.abs(scale(value) - scale(present)));
  const nearest = Math.min(...distances);
  return nearest <= step / 2 + 1e-9 ? distances.indexOf(nearest) : undefined;
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

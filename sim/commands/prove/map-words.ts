import {
  type Cell,
  chanceBound,
  type GainMap,
  type MapAxis,
  type MapCentre,
  presentIsGood,
} from '../../campaign/index.js';
import { counted } from '../../views/text/index.js';
import { shellWords } from '../base/command-line.js';

/** What the map was asked with and goes into the commands that follow from it. */
export interface MapWish {
  readonly program: string | undefined;
  readonly setup: string | undefined;
  readonly set: readonly string[];
  readonly cuts: number;
  /** The command line as it was given, from `map` on. */
  readonly args: readonly string[];
  /** Where the setup with the chosen values was written. */
  readonly stored: string | undefined;
}

const short = (value: number) => String(Number(value.toPrecision(4)));
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
export function mapSentences(map: GainMap, centre: MapCentre | undefined, wish: MapWish, marks: MapMarks): string[] {
  const { x, y, present } = map;
  const cells = map.cells.flat();
  const untried = cells.filter((cell) => cell.cuts === 0).length;
  const now = `In the box now${marks.present}: ${pair(map, x.present, y.present)}: ${cellText(present)}`;
  return [
    ...(untried > 0
      ? [
          `${counted(untried, 'pair')} of values${marks.refused} are refused, such as by another parameter that contradicts them: nothing was cut there.`,
        ]
      : []),
    ...(centre
      ? centreSentences(map, centre, marks)
      : ['There is no pair for which every requirement was kept in every cut.']),
    presentIsGood(map) ? `${now}, within the region.` : `${now}, outside the region.`,
    ...leastSentence(cells),
    'This speaks of the ranges that were drawn from, on this model; nothing else. ' +
      `A requirement that was kept in all ${wish.cuts} cuts of a pair is broken in fewer than ` +
      `${Number((100 * chanceBound(wish.cuts)).toPrecision(2))} % of such cuts, with 95 % confidence.`,
    ...(centre ? [] : brokenSteps(wish)),
    ...(centre ? nextSteps(map, centre, wish) : []),
  ];
}

function cellText({ cuts, kept, met, following_p999_mm }: Cell): string {
  if (cuts === 0) return 'refused, nothing was cut';
  const held = following_p999_mm === null ? '' : `, 99.9 % of following within ${short(following_p999_mm)} mm`;
  return `every requirement kept in ${kept} of ${cuts} cuts${held}, wishes for following met in ${met}`;
}

function centreSentences(map: GainMap, centre: MapCentre, marks: MapMarks): string[] {
  const { x, y } = map;
  const { left, right, lower, upper } = centre.edges;
  const side = ({ distance, open }: { distance: number; open: boolean }) =>
    `${short(distance)}${open ? ' (there the map ends)' : ''}`;
  return [
    `The region${marks.region}: every requirement kept in every cut, and the standoff held at most a quarter worse than at best: ${counted(centre.cells, 'pair')}.`,
    `Its middle${marks.middle}: ${pair(map, centre.x, centre.y)}: ${cellText(centre.cell)}.`,
    `Room around it: ${x.name} down ${side(left)}, up ${side(right)}; ${y.name} down ${side(lower)}, up ${side(upper)}.`,
  ];
}

function leastSentence(cells: readonly Cell[]): string[] {
  const worst = cells
    .filter((cell) => cell.worst_margin !== null)
    .sort((a, b) => Number(a.kept === a.cuts) - Number(b.kept === b.cuts) || a.worst_margin! - b.worst_margin!)[0];
  if (worst === undefined) return [];
  return [
    `Least margin of all: ${worst.worst_requirement}, ${quantity(worst.worst_margin!, worst.worst_unit)}, in cut ${worst.worst_case}.`,
  ];
}

const asked = ({ program, setup, set }: MapWish): string[] => [
  ...(program === undefined ? [] : [program]),
  ...(setup === undefined ? [] : ['--setup', setup]),
  ...set.flatMap((word) => ['--set', word]),
];

const brokenSteps = (wish: MapWish): string[] => [
  `What breaks a requirement: standoff fuzz ${shellWords([...asked(wish), '--cases', 'found'])}`,
];

function nextSteps({ x, y }: GainMap, { x: at_x, y: at_y, edges }: MapCentre, wish: MapWish): string[] {
  const chosen = ['--set', `${x.name}=${at_x}`, '--set', `${y.name}=${at_y}`];
  const wider_x = widened(x, edges.left.open, edges.right.open);
  const wider_y = widened(y, edges.lower.open, edges.upper.open);
  const axes = ['--x', wider_x ?? rangeOf(x), '--y', wider_y ?? rangeOf(y)];
  const kept =
    wish.stored === undefined
      ? `Into a setup file: standoff ${shellWords([...wish.args, '--store', 'better.yaml'])}; or by hand, in section box: ${x.name}: ${at_x}, ${y.name}: ${at_y}`
      : `${wish.stored} is the setup with these values. Try it on many cuts: standoff fuzz ${shellWords([...(wish.program === undefined ? [] : [wish.program]), '--setup', wish.stored])}`;
  return [
    ...(wider_x || wider_y
      ? [`The region goes on beyond the map; a wider one: standoff map ${shellWords([...asked(wish), ...axes])}`]
      : []),
    `See the middle: standoff simulate ${shellWords([...asked(wish), ...chosen])}`,
    kept,
  ];
}

const rangeOf = ({ name, values }: MapAxis) => `${name}=${values[0]}:${values.at(-1)}`;

/** The axis with more room where the region reaches the end of the map; undefined where the box takes no more. */
function widened({ name, values, least, most }: MapAxis, down: boolean, up: boolean): string | undefined {
  const low = values[0]!;
  const high = values.at(-1)!;
  const reach = high - low;
  const new_low = down ? Math.max(least, low > 0 ? low / 3 : low - reach) : low;
  const new_high = up ? Math.min(most, high + reach) : high;
  return new_low === low && new_high === high
    ? undefined
    : `${name}=${Number(new_low.toPrecision(3))}:${Number(new_high.toPrecision(3))}`;
}

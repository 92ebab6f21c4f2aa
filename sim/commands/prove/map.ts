import { cpus } from 'node:os';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import {
  type Campaign,
  CaseRunner,
  type Cell,
  centreOf,
  changeRanges,
  type GainMap,
  type MapCentre,
  mapAxis,
  mapCampaign,
  regionOf,
  runMap,
  SHORT_CUTS,
} from '../../campaign/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { updateBox, writeSetup } from '../../run/setup/index.js';
import { terminalStyle, wrapText } from '../../views/text/index.js';
import { collect, type Ended, EXIT, wholeNumber, withoutOptions, withSignals } from '../base/command-line.js';
import { checkOutputs, readText, writeFiles } from '../base/files.js';
import { blockDelete, DEFAULT_SEED, readCampaignInput, seedOf, setupFile } from '../base/inputs.js';
import { countdown, watched } from '../base/progress.js';
import { type MapRequest, mapSentences, mapText } from './map-text.js';

const CELL = 40;
const LEFT = 90;
const TOP = 20;
/** From the cells down to the legend, and from line to line of it. */
const FOOT = 42;
const LINE = 20;
/** The last line of the legend needs this much, however few the columns. */
const LEAST_WIDTH = 320;
/** Widest mean width of a letter of the legend. */
const LETTER = 7;

const LEGEND = (x: GainMap['x'], y: GainMap['y']): readonly string[] => [
  `to the right ${x.name} ${x.unit}; upwards ${y.name} ${y.unit}`.replace(' ;', ';'),
  'number: percent of the cuts that met the quality goals for following; the darker the more',
  'hatched, x: a requirement was broken in at least one cut; –: the box refuses to start',
  'black frame: every requirement kept, goals met in half of the cuts, standoff held nearly as well as at best',
];

const marked = (text: string) => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

/**
 * The map as a drawing of its own: light to dark by the share of cuts that met the quality goals, hatched where a
 * requirement was broken, framed in the region. It is read by lightness, pattern, number and line; no two colours have to be told apart.
 */
export function mapSvg(map: GainMap, centre: MapCentre | undefined): string {
  const { x, y, cells } = map;
  const region = regionOf(map);
  const width = Math.max(LEAST_WIDTH, LEFT + CELL * x.values.length + 20);
  const base = TOP + CELL * y.values.length;
  const legend = LEGEND(x, y).flatMap((text) => wrapText(text, Math.floor((width - 16) / LETTER)));
  const height = base + FOOT + LINE * (legend.length + 1);
  const parts: string[] = [];
  cells.forEach((row, at) => {
    row.forEach((cell, column) => {
      const left = LEFT + CELL * column;
      const top = TOP + CELL * (y.values.length - 1 - at);
      const { mark, fill, dark } = look(cell);
      const edge = region[at][column] ? ' stroke="#111" stroke-width="2.5"' : ' stroke="#fff"';
      const title =
        `${x.name} ${x.values[column]}, ${y.name} ${y.values[at]}: every requirement kept in ${cell.kept} of ${cell.cuts} cuts, ` +
        `${cell.stopped} stopped, quality goals met in ${cell.goals_met}`;
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
      `<text x="${LEFT + CELL * (column + 0.5)}" y="${base + 18}" text-anchor="middle">${short(value)}</text>`,
    );
  });
  y.values.forEach((value, at) => {
    parts.push(
      `<text x="${LEFT - 8}" y="${TOP + CELL * (y.values.length - at - 0.5) + 4}" text-anchor="end">${short(value)}</text>`,
    );
  });
  const now = presentPlace(map);
  if (now) parts.push(ring(now[0], now[1], RADIUS, STROKES));
  const foot = base + FOOT;
  const line = (at: number, text: string, indent = 0) =>
    parts.push(`<text x="${8 + indent}" y="${foot + LINE * at}">${marked(text)}</text>`);
  for (const [at, text] of legend.entries()) line(at, text);
  const below = foot + LINE * legend.length;
  parts.push(ring(16, below - 4, 8), ring(176, below - 4, 8, STROKES));
  line(legend.length, 'middle of the region', 22);
  line(legend.length, 'in the box now', 182);
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
  const along = ({ values, present, logarithmic }: GainMap['x']) => {
    const scale = (value: number) => (logarithmic ? Math.log(value) : value);
    const [low, high] = [scale(values[0]), scale(values.at(-1)!)];
    return ((scale(present) - low) / (high - low)) * (values.length - 1);
  };
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

const LEAST_STEPS = 3;
const MOST_STEPS = 60;
const DEFAULT_STEPS = 9;
const DEFAULT_CUTS = 30;

const command = () =>
  new Command('map')
    .description(
      'Cuts the same random sheets for every pair of values of two parameters of the box, and shows where every requirement is ' +
        'kept, how well the standoff is held, and which pair lies farthest from every edge.',
    )
    .argument('[program]', 'RS-274 program (default: three short cuts)')
    .requiredOption('--x <name=low:high>', 'parameter along the x axis, such as gain_p_per_s=10:60')
    .requiredOption('--y <name=low:high>', 'parameter along the y axis')
    .option('--steps <n>', `values along each axis (default: ${DEFAULT_STEPS})`, wholeNumber(LEAST_STEPS, MOST_STEPS))
    .option('--cuts <n>', `cuts for each pair of values (default: ${DEFAULT_CUTS})`, wholeNumber(1, 100_000))
    .addOption(blockDelete())
    .option('--setup <file>', 'box, machine and world, as YAML (default: the built-in values)')
    .option('--set <name=value>', 'change a value of the setup first; may be repeated', collect)
    .option('--range <name=low:high>', 'draw this from another range; may be repeated', collect)
    .option('--seed <n>', `seed of the cuts (default: ${DEFAULT_SEED})`, seedOf)
    .option('--workers <n>', 'threads (default: one a core)', wholeNumber(1, 256))
    .option('--out <file>', 'write the map as .json, .svg or .html')
    .option('--store <file>', 'write the setup with the values of the middle of the region, as .yaml')
    .option('--force', 'write over files that exist')
    .option('--json', 'print the map as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 no requirement broken in any pair, 1 a requirement broken, 2 bad input, 130 broken off by Ctrl-C.',
    );

/** `standoff map`. */
export const mapCommand = (ended: Ended) =>
  command().action(async (program, options) => ended(await map(program, options)));

type MapOptions = ReturnType<ReturnType<typeof command>['opts']>;

/** @returns the exit status @throws StandoffError for bad input, before anything is run */
async function map(program_file: string | undefined, options: MapOptions): Promise<number> {
  const { json, cuts = DEFAULT_CUTS, seed = DEFAULT_SEED } = options;
  const setup_file = setupFile(options.setup);
  const around = mapCampaign({ ...readCampaignInput(program_file, options, SHORT_CUTS), seed });
  const campaign = { ...around, ranges: changeRanges(around.ranges, around.setup, options.range ?? []) };
  const steps = options.steps ?? DEFAULT_STEPS;
  const x = mapAxis(options.x, campaign, steps);
  const y = mapAxis(options.y, campaign, steps);
  if (x.name === y.name) {
    throw new StandoffError('map-same', `both axes are ${x.name}`, 'give two different parameters');
  }
  // Looked at before the first cut, so that no map is made in vain.
  const out = { option: '--out', path: options.out, endings: ['.json', '.svg', '.html'] };
  const store = { option: '--store', path: options.store, endings: ['.yaml', '.yml'] };
  const inputs = [program_file, setup_file];
  const force = options.force === true;
  checkOutputs([out, store], inputs, force);
  // Planned here once, so that a program that cannot be read is told before any thread is started.
  new CaseRunner(campaign);
  const found = await runVisibly(campaign, x, y, cuts, options);
  if (found === undefined) {
    process.stderr.write('standoff: broken off; a map is whole or nothing\n');
    return EXIT.interrupted;
  }
  const centre = centreOf(found);
  const head = { format: 'standoff map 3', module_sha256: loadControlModule().sha256, seed, cuts };
  const json_text = `${JSON.stringify({ ...head, ...found, centre: centre ?? null }, null, 1)}\n`;
  const request: MapRequest = {
    program: program_file,
    block_delete: options.blockDelete === true,
    setup: setup_file,
    set: options.set ?? [],
    range: options.range ?? [],
    cuts,
    args: withoutOptions(process.argv.slice(2), ['--out', '--workers']),
    stored: centre && store.path,
  };
  const picture = (path: string) => (path.endsWith('.svg') ? mapSvg(found, centre) : mapHtml(found, centre, request));
  const outputs = [{ ...out, text: () => (out.path!.endsWith('.json') ? json_text : picture(out.path!)) }];
  if (centre !== undefined) {
    const box = { ...campaign.setup.box, [x.name]: centre.x, [y.name]: centre.y };
    const yaml = () =>
      setup_file === undefined
        ? writeSetup({ ...campaign.setup, box })
        : updateBox(readText(setup_file, 'setup'), setup_file, box);
    outputs.push({ ...store, text: yaml });
  }
  writeFiles(outputs, inputs, force);
  const style = terminalStyle(process.env, process.stdout, options.plain);
  process.stdout.write(json ? json_text : mapText(found, centre, request, style));
  return found.cells.flat().some((cell) => cell.kept < cell.cuts) ? EXIT.broken : EXIT.kept;
}

/** Runs a map with a line on the terminal that tells how far it has come. @returns undefined when it was broken off */
async function runVisibly(
  campaign: Campaign,
  x: GainMap['x'],
  y: GainMap['y'],
  cuts: number,
  { json, workers }: MapOptions,
): Promise<GainMap | undefined> {
  const line = countdown('pairs of values', watched(json) ? 'line' : 'silent');
  const most = x.values.length * y.values.length;
  const found = await withSignals((signal) =>
    runMap(campaign, x, y, cuts, workers ?? cpus().length, (done) => line.show(done, most), signal),
  );
  line.end();
  return found;
}

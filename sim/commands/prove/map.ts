import { cpus } from 'node:os';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import {
  type Campaign,
  CaseRunner,
  centreOf,
  type GainMap,
  mapAxis,
  mapCampaign,
  runMap,
  SHORT_CUTS,
} from '../../campaign/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { updateBox, writeSetup } from '../../run/setup/index.js';
import { clockText, fitText, terminalStyle } from '../../views/text/index.js';

import { collect, seedOf, wholeNumber, withoutOptions } from '../base/command-line.js';
import { type Ended, EXIT, withSignals } from '../base/exit.js';
import { checkOutputs, readText, writeFiles } from '../base/files.js';
import { DEFAULT_SEED, readCampaignInput } from '../base/inputs.js';
import { mapHtml, mapSvg } from './map-picture.js';
import { type MapRequest, mapText } from './map-text.js';

const LEAST_STEPS = 3;
const MOST_STEPS = 60;
const DEFAULT_STEPS = 9;
const DEFAULT_CUTS = 30;

const command = () =>
  new Command('map')
    .summary('find values of two parameters that leave room on every side')
    .description(
      'Cuts the same random sheets for every pair of values of two parameters of the box, and shows where every requirement is ' +
        'kept, how well the standoff is held, and which pair lies farthest from every edge.',
    )
    .argument('[program]', 'RS-274 program (default: three short cuts)')
    .requiredOption('--x <name=low:high>', 'parameter along the x axis, such as gain_p_per_s=10:60')
    .requiredOption('--y <name=low:high>', 'parameter along the y axis')
    .option('--steps <n>', `values along each axis (default: ${DEFAULT_STEPS})`, wholeNumber(LEAST_STEPS, MOST_STEPS))
    .option('--cuts <n>', `cuts for each pair of values (default: ${DEFAULT_CUTS})`, wholeNumber(1, 100_000))
    .option('--setup <file>', 'box, machine and world, as YAML (default: the built-in values)')
    .option('--set <name=value>', 'change a value of the setup first; may be repeated', collect)
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
  const { json, setup: setup_file, cuts = DEFAULT_CUTS, seed = DEFAULT_SEED } = options;
  const campaign = mapCampaign({ ...readCampaignInput(program_file, options, SHORT_CUTS), seed });
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
  const head = { format: 'standoff map 2', module_sha256: loadControlModule().sha256, seed, cuts };
  const json_text = `${JSON.stringify({ ...head, ...found, centre: centre ?? null }, null, 1)}\n`;
  const request: MapRequest = {
    program: program_file,
    setup: setup_file,
    set: options.set ?? [],
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
  const visible = process.stderr.isTTY === true && (json !== true || process.stdout.isTTY !== true);
  const progress = progressOf(x.values.length * y.values.length);
  const onProgress = (done: number) => visible && process.stderr.write(`\r${progress(done)}\x1b[K`);
  const found = await withSignals((signal) =>
    runMap(campaign, x, y, cuts, workers ?? cpus().length, onProgress, signal),
  );
  if (visible) process.stderr.write('\r\x1b[K');
  return found;
}

/** Pairs done and the time left, counted from the first that was done: what came before was the start of the threads. */
function progressOf(cells: number): (done: number) => string {
  let first_ms = 0;
  return (done) => {
    if (done === 1) first_ms = Date.now();
    const left_s = done > 1 ? ((Date.now() - first_ms) / 1000 / (done - 1)) * (cells - done) : Number.NaN;
    const line = `${done} of ${cells} pairs of values  ${clockText(left_s)} left`;
    return fitText(line, (process.stderr.columns ?? 80) - 1);
  };
}

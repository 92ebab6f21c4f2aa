import { cpus } from 'node:os';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import {
  type Campaign,
  CaseRunner,
  centreOf,
  mapAxis,
  rangesAround,
  runMap,
  SHORT_CUTS,
} from '../../campaign/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { assignValues, defaultSetup, readSetup, updateBox, writeSetup } from '../../run/setup/index.js';
import { clockText, fitText, terminalStyle } from '../../views/text/index.js';
import { type OutputFile, writeFiles } from '../base/bench-files.js';
import { withoutOptions } from '../base/command-line.js';
import { EXIT } from '../base/exit.js';
import { readText } from '../base/files.js';
import { withSignals } from '../base/interrupt.js';
import { collect, wholeNumber } from '../base/option-values.js';
import { checkEnding, refuseExisting, refuseInput, refuseUnwritable } from '../base/output-name.js';
import { mapHtml, mapSvg } from './map-picture.js';
import { mapText } from './map-report.js';
import type { MapWish } from './map-words.js';

const LEAST_STEPS = 3;
const MOST_STEPS = 60;

/** `standoff map` with its arguments and options. */
export const mapCommand = () =>
  new Command('map')
    .summary('find values of two parameters that leave room on every side')
    .description(
      'Cuts the same random sheets for every pair of values of two parameters of the box, and shows where every requirement is ' +
        'kept, how well the standoff is held, and which pair lies farthest from every edge.',
    )
    .argument('[program]', 'RS-274 program (default: three short cuts)')
    .requiredOption('--x <name=low:high>', 'parameter along the x axis, such as gain_p_per_s=10:60')
    .requiredOption('--y <name=low:high>', 'parameter along the y axis')
    .option('--steps <n>', 'values along each axis (default: 9)', wholeNumber(LEAST_STEPS, MOST_STEPS))
    .option('--cuts <n>', 'cuts for each pair of values (default: 30)', wholeNumber(1, 100_000))
    .option('--setup <file>', 'box, machine and world, as YAML (default: the built-in values)')
    .option('--set <name=value>', 'change a value of the setup first; may be repeated', collect)
    .option('--seed <n>', 'seed of the cuts (default: 1)', wholeNumber(0, 0xffffffff))
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

export type MapOptions = ReturnType<ReturnType<typeof mapCommand>['opts']>;

/** @returns the exit status @throws StandoffError for bad input, before anything is run */
export async function map(program_file: string | undefined, options: MapOptions): Promise<number> {
  const campaign = readCampaign(program_file, options);
  const steps = options.steps ?? 9;
  const x = mapAxis(options.x, campaign, steps);
  const y = mapAxis(options.y, campaign, steps);
  if (x.name === y.name) {
    throw new StandoffError('map-same', `both axes are ${x.name}`, 'give two different parameters');
  }
  checkOutput(options.out, OUT_ENDINGS, program_file, options);
  checkOutput(options.store, STORE_ENDINGS, program_file, options);
  // Planned here once, so that a program that cannot be read is told before any thread is started.
  new CaseRunner(campaign);
  const visible = process.stderr.isTTY === true && (options.json !== true || process.stdout.isTTY !== true);
  const progress = progressOf(x.values.length * y.values.length);
  const cuts = options.cuts ?? 30;
  const onProgress = (done: number) => visible && process.stderr.write(`\r${progress(done)}\x1b[K`);
  const found = await withSignals((signal) =>
    runMap(campaign, x, y, cuts, options.workers ?? cpus().length, onProgress, signal),
  );
  if (visible) process.stderr.write('\r\x1b[K');
  if (found === undefined) {
    process.stderr.write('standoff: broken off; a map is whole or nothing\n');
    return EXIT.interrupted;
  }
  const centre = centreOf(found);
  const head = { format: 'standoff map 1', module_sha256: loadControlModule().sha256, seed: campaign.seed, cuts };
  const json = `${JSON.stringify({ ...head, ...found, centre: centre ?? null }, null, 1)}\n`;
  const text = (path: string) =>
    path.endsWith('.json') ? json : path.endsWith('.svg') ? mapSvg(found, centre) : mapHtml(found, centre, wish);
  const stored = centre === undefined ? undefined : options.store;
  const args = withoutOptions(process.argv.slice(2), ['--out', '--workers']);
  const wish: MapWish = { program: program_file, setup: options.setup, set: options.set ?? [], cuts, args, stored };
  const outputs: OutputFile[] = [];
  const { out } = options;
  if (out !== undefined) outputs.push({ option: '--out', path: out, endings: OUT_ENDINGS, text: () => text(out) });
  if (centre !== undefined) {
    const box = { ...campaign.setup.box, [x.name]: centre.x, [y.name]: centre.y };
    const yaml = () =>
      options.setup === undefined
        ? writeSetup({ ...campaign.setup, box })
        : updateBox(readText(options.setup, 'setup'), options.setup, box);
    outputs.push({ option: '--store', path: options.store, endings: STORE_ENDINGS, text: yaml });
  }
  writeFiles(outputs, [program_file, options.setup], options.force === true);
  const style = terminalStyle(process.env, process.stdout, options.plain);
  process.stdout.write(options.json ? json : mapText(found, centre, wish, style));
  return found.cells.flat().some((cell) => cell.kept < cell.cuts) ? EXIT.broken : EXIT.kept;
}

/** They shift the standoff as a whole, which no gain can mend; calibration and target can. */
const OFFSETS: readonly string[] = ['world.arc.voltage_at_cut_V', 'machine.divider.gain_error'];

/** Sound machines only: a fault that stops the cut says nothing about the gains. */
function readCampaign(program_file: string | undefined, options: MapOptions): Campaign {
  const stated =
    options.setup === undefined ? defaultSetup() : readSetup(readText(options.setup, 'setup'), options.setup);
  const setup = assignValues(stated, options.set ?? []);
  const programs =
    program_file === undefined ? SHORT_CUTS : [{ name: program_file, text: readText(program_file, 'program') }];
  const around = rangesAround(setup);
  const numbers = around.numbers.filter(({ path }) => !OFFSETS.includes(path));
  const ranges = { ...around, numbers, fault_chance: 0, second_fault_chance: 0, operator_chance: 0 };
  return { setup, ranges, programs, seed: options.seed ?? 1 };
}

const OUT_ENDINGS: readonly string[] = ['.json', '.svg', '.html'];
const STORE_ENDINGS: readonly string[] = ['.yaml', '.yml'];

/** Looked at before the first cut, so that no map is made in vain. */
function checkOutput(
  path: string | undefined,
  endings: readonly string[],
  program_file: string | undefined,
  { setup, force }: MapOptions,
): void {
  if (path === undefined) return;
  checkEnding(path, path, endings);
  const inputs = [program_file, setup].filter((file) => file !== undefined);
  refuseInput(path, path, inputs, 'map');
  refuseExisting(path, force === true);
  refuseUnwritable(path);
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

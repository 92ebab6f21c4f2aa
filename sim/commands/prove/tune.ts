import { existsSync } from 'node:fs';
import { cpus } from 'node:os';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import {
  CaseRunner,
  changeRanges,
  mapCampaign,
  refuseContradictingRanges,
  runTune,
  TUNE_FORMAT,
  type Tuning,
  tuneParameters,
} from '../../campaign/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { exampleSetup, type Setup, updateBox, writeSetup } from '../../run/setup/index.js';
import { terminalStyle } from '../../views/text/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM } from '../../world/motion/index.js';
import { collect, type Ended, EXIT, interruptible, wholeNumber, withoutOptions } from '../base/command-line.js';
import { checkOutputs, readText, writeFiles } from '../base/files.js';
import { blockDelete, DEFAULT_SEED, readCampaignInput, seedOf, setupFile } from '../base/inputs.js';
import { countdown, watched } from '../base/progress.js';
import { type TuneRequest, tuneText } from './tune-text.js';

const DEFAULT_CUTS = 64;
const LEAST_CUTS = 8;
/** What is tuned where nothing else is named: gains, and how much is averaged over time and over path. */
const DEFAULT_PARAMETERS = ['gain_p_per_s', 'gain_i_per_s2', 'smoothing_ms', 'slope_path_mm'];

const command = () =>
  new Command('tune')
    .description(
      'Cuts a program on random sheets, with arcs and machines that disagree with the setup, and looks for better values of up to four ' +
        'parameters of the box by the worst of these cuts. It proposes values only where other cuts confirm them and each has ' +
        'room on both sides, and says what spoils the cuts where they do not help. No setup is written unless --write asks for it.',
    )
    .argument('[program]', 'RS-274 program, such as gate.nc (default: the example)')
    .addOption(blockDelete())
    .option('--setup <file>', 'box, machine and world, as YAML (default: the example)')
    .option('--set <name=value>', 'change a value of the setup first; may be repeated', collect)
    .option(
      '--vary <name=low:high>',
      `parameter of the box to tune, within these limits if given; up to four times (default: ${DEFAULT_PARAMETERS.join(', ')})`,
      collect,
    )
    .option('--range <name=low:high>', 'draw this from another range; may be repeated', collect)
    .option(
      '--cuts <n>',
      `cuts that a proposal is confirmed on; half as many for each set of values (default: ${DEFAULT_CUTS})`,
      wholeNumber(LEAST_CUTS, 100_000),
    )
    .option('--seed <n>', `seed of the cuts (default: ${DEFAULT_SEED})`, seedOf)
    .option('--workers <n>', 'threads (default: one a core); the result is the same', wholeNumber(1, 256))
    .option('--write <file>', 'write a new setup with the values proposed, as .yaml; a file that exists is left alone')
    .option('--json', 'print the result as JSON and nothing else (standoff schema tune describes it)')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 no requirement broken, with values proposed or none; 1 a requirement broken with the present' +
        '\nvalues or those found; 2 bad input; 130 broken off by Ctrl-C, with nothing found.',
    );

/** `standoff tune`. */
export const tuneCommand = (ended: Ended) =>
  command().action(async (program, options) => ended(await tune(program, options)));

type TuneOptions = ReturnType<ReturnType<typeof command>['opts']>;

/** @returns the exit status @throws StandoffError for bad input, before anything is run */
async function tune(program_file: string | undefined, options: TuneOptions): Promise<number> {
  const { seed = DEFAULT_SEED, cuts = DEFAULT_CUTS, set = [], range = [] } = options;
  const setup_file = setupFile(options.setup);
  const example = [{ name: EXAMPLE_NAME, text: EXAMPLE_PROGRAM }];
  const around = mapCampaign({ ...readCampaignInput(program_file, options, example, exampleSetup), seed });
  const campaign = { ...around, ranges: changeRanges(around.ranges, around.setup, range) };
  refuseContradictingRanges(campaign.ranges, campaign.setup);
  const parameters = tuneParameters(options.vary ?? DEFAULT_PARAMETERS, campaign);
  // Looked at before the first cut, so that nothing is found in vain.
  const write = { option: '--write', path: options.write, endings: ['.yaml', '.yml'] };
  const inputs = [program_file, setup_file];
  if (options.write !== undefined && existsSync(options.write)) {
    throw new StandoffError('file-exists', `${options.write} exists`, 'give another name: tune writes over no file');
  }
  checkOutputs([write], inputs, false);
  // Planned here once, so that a program that cannot be read is told before any thread is started.
  new CaseRunner(campaign);
  const line = countdown('cuts at most', watched(options.json) ? 'line' : options.json ? 'silent' : 'quarters');
  let done = 0;
  const found = await interruptible((signal) =>
    runTune({
      campaign,
      parameters,
      cuts,
      workers: options.workers ?? cpus().length,
      signal,
      onProgress: (now, most) => {
        done = now;
        line.show(now, most);
      },
    }),
  );
  line.end();
  if (found === undefined) {
    process.stderr.write(`standoff: broken off after ${done} cuts; nothing is proposed, nothing was written\n`);
    return EXIT.interrupted;
  }
  if (found.conclusion === 'proposed') {
    writeFiles([{ ...write, text: () => setupWith(found, campaign.setup, setup_file) }], inputs, false);
  }
  const [{ name }] = campaign.programs;
  if (options.json) {
    const head = { format: TUNE_FORMAT, module_sha256: loadControlModule().sha256, program: name, seed };
    process.stdout.write(`${JSON.stringify({ ...head, ...found }, null, 1)}\n`);
  } else {
    const request: TuneRequest = {
      ...{ program: program_file, block_delete: options.blockDelete === true, setup: setup_file, set, range },
      ...{ name, seed, write: options.write },
      args: withoutOptions(process.argv.slice(2), ['--workers', '--write']),
    };
    process.stdout.write(tuneText(found, request, terminalStyle(process.env, process.stdout, options.plain)));
  }
  return found.present.broken.length + found.found.broken.length > 0 ? EXIT.broken : EXIT.kept;
}

/** The setup file as it is, with the values proposed; without a file a new one. */
function setupWith({ parameters }: Tuning, setup: Setup, setup_file: string | undefined): string {
  const box = { ...setup.box, ...Object.fromEntries(parameters.map(({ name, found }) => [name, found])) };
  return setup_file === undefined
    ? writeSetup({ ...setup, box })
    : updateBox(readText(setup_file, 'setup'), setup_file, box);
}

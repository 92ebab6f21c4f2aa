import { Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { tryFaults } from '../../campaign/index.js';
import {
  circuitSvg,
  DEFAULT_LIMITS,
  dataSheet,
  LIMIT_ROWS,
  type Limits,
  MOST_TIMES,
  netlistOf,
  type ReadyMade,
  type ReadyMadeSheet,
  type Relaxation,
  ratioOf,
  readyMadeSheet,
  relaxations,
  type SearchResult,
  searchDesigns,
} from '../../electrical/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { asParts, partsWarnings, useOf, withDivider } from '../../run/job/index.js';
import { nearestWord, quantityAt, setupWarnings, writeSetup } from '../../run/setup/index.js';
import { type TerminalStyle, terminalStyle } from '../../views/text/index.js';
import { collect, type Ended, EXIT, shellWords, withoutOptions } from '../base/command-line.js';
import { checkOutputs, writeFiles } from '../base/files.js';
import { DEFAULT_SEED, readSetupOptions, setupFile } from '../base/inputs.js';
import { type DividerReport, dividerPage, readyMadePage } from './divider-text.js';

/** Options that a ready-made divider has no use for. */
const OF_A_DESIGN = ['check', 'rank', 'limit', 'svg', 'spice', 'store'];
/** Designs that a search lists. */
const LISTED = 5;

function rankOf(text: string): number {
  const rank = Number(text);
  if (Number.isInteger(rank) && rank >= 1 && rank <= LISTED) return rank;
  throw new InvalidArgumentError(`Give a whole number from 1 to ${LISTED}.`);
}

const command = () =>
  new Command('divider')
    .description(
      'Looks through every combination of series resistors for a divider that keeps every limit, or checks ' +
        'the one in the setup; prints its data sheet, and tries every single fault through the simulated chain and the ' +
        'control module.',
    )
    .option('--setup <file>', 'box, machine and world, as YAML (default: the example)')
    .option('--set <name=value>', 'change a value, such as machine.divider.series=24; may be repeated', collect)
    .addOption(new Option('--check', 'check the divider of the setup instead of looking for one').conflicts('rank'))
    .option('--rank <n>', 'print the data sheet of this proposal (default: 1)', rankOf)
    .option('--limit <name=value>', 'set another limit, such as step_mm=0.02; may be repeated', collect)
    .addOption(new Option('--ratio <n>', 'judge a ready-made divider by its ratio').conflicts(OF_A_DESIGN))
    .option('--resistance-kohm <n>', 'with --ratio or --measured: resistance between its inputs')
    .addOption(
      new Option(
        '--measured <in=out>',
        'judge a ready-made divider by volts in and out, such as 60=0.5; may be repeated',
      )
        .argParser(collect)
        .conflicts(OF_A_DESIGN),
    )
    .option('--svg <file>', 'draw the circuit')
    .option('--spice <file>', 'write a netlist for a circuit simulator')
    .option('--store <file>', 'write the setup with this divider in its machine section')
    .option('--force', 'write over existing files')
    .option('--json', 'print the data sheet as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      `\nLimits and their defaults:\n${LIMIT_ROWS.map(
        ({ name, wanted, default: value, unit, meaning }) => `  ${name}  ${wanted} ${value} ${unit}\n      ${meaning}`,
      ).join(
        '\n',
      )}\n\nExit status: 0 every limit, rating and single fault in order, 1 something is not, 2 bad input or no design at all,\n5 a ready-made divider of which much cannot be known.`,
    );

/** `standoff divider`. */
export const dividerCommand = (ended: Ended) => command().action((options) => ended(divider(options)));

type DividerOptions = ReturnType<ReturnType<typeof command>['opts']>;

/**
 * The default limits with some changed: `step_mm=0.02`.
 * @throws StandoffError `option-…` for an unknown limit, a wrong unit or a value out of range
 */
function readLimits(assignments: readonly string[]): Limits {
  let limits = DEFAULT_LIMITS;
  for (const assignment of assignments) {
    const [, name = '', text = ''] = /^([^=]*)=(.*)$/s.exec(assignment) ?? [];
    const place = `--limit ${assignment}`;
    const row = LIMIT_ROWS.find((one) => one.name === name.trim());
    if (!row) {
      const names = LIMIT_ROWS.map((one) => one.name);
      const near = nearestWord(name.trim(), names);
      const remedy = near ? `did you mean ${near}?` : `there are ${names.join(', ')}`;
      throw new StandoffError('option-unknown', `${place}: no limit is called so`, remedy);
    }
    const value = quantityAt(place, { ...row, path: row.name, kind: 'number' }, text);
    limits = { ...limits, [row.name]: value };
  }
  return limits;
}

/**
 * Sizes a divider or checks one, and prints its data sheet.
 * @returns the exit status
 * @throws StandoffError for bad input
 */
function divider(options: DividerOptions): number {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const given = readSetupOptions(options);
  const limits = readLimits(options.limit ?? []);
  const use = useOf(given);
  const ready = readReadyMade(options);
  if (ready) return readyMade(readyMadeSheet(ready, given.machine, use), options, style);
  const search = options.check ? undefined : searchDesigns(given.machine, use, limits, LISTED);
  const rank = options.rank ?? 1;
  if (search && search.proposals.length < rank) {
    const found = search.proposals.length === 0 ? relaxations(given.machine, use, limits) : [];
    throw noDesign(search, rank, found);
  }
  const setup = search ? withDivider(given, search.proposals[rank - 1].machine) : given;
  const { machine } = setup;
  const svg = { option: '--svg', path: options.svg, endings: ['.svg'] };
  const spice = { option: '--spice', path: options.spice, endings: ['.cir', '.sp', '.net'] };
  const store = { option: '--store', path: options.store, endings: ['.yaml', '.yml'] };
  const force = options.force === true;
  checkOutputs([svg, spice, store], [setupFile(options.setup)], force);
  const data_sheet = dataSheet(machine, use, limits);
  const module = loadControlModule();
  const report: DividerReport = {
    setup,
    use,
    data_sheet,
    trials: tryFaults(setup, data_sheet.faults, module, DEFAULT_SEED),
    module_sha256: module.sha256,
    ...(search && { search }),
    rank,
    warnings: [...setupWarnings(setup), ...partsWarnings(machine)],
  };
  const outputs = [
    { ...svg, text: () => circuitSvg(machine) },
    { ...spice, text: () => netlistOf(machine, use.target_V) },
    { ...store, text: () => writeSetup(asParts(setup)) },
  ];
  writeFiles(outputs, [setupFile(options.setup)], force);
  process.stdout.write(options.json ? jsonText(report) : dividerPage(report, style));
  const { violated, findings } = data_sheet;
  const bad = report.trials.some(({ results }) =>
    results.some(({ verdict }) => verdict === 'unnoticed' || verdict === 'late'),
  );
  return violated.length === 0 && findings.length === 0 && !bad ? EXIT.kept : EXIT.broken;
}

const amount = (path: string, unit: string, min: number, max: number) =>
  ({ path, kind: 'number', unit, min, max, default: 0, meaning: path }) as const;

/** What the options say of a ready-made divider; undefined: they say nothing. @throws StandoffError `option-…`, `pair-form` */
function readReadyMade({ ratio, resistanceKohm, measured }: DividerOptions): ReadyMade | undefined {
  const resistance_kohm =
    resistanceKohm === undefined
      ? undefined
      : quantityAt(`--resistance-kohm ${resistanceKohm}`, amount('resistance', 'kohm', 0.1, 1e6), resistanceKohm);
  const pairs = measured?.map((text) => {
    const [, volts_in, volts_out, more] = /^([^=]+)=([^=]+)(=.*)?$/.exec(text) ?? [];
    if (volts_in === undefined || volts_out === undefined || more !== undefined) {
      throw new StandoffError('pair-form', `--measured ${text} is not volts=volts`, 'write volts in and out: 60=0.5');
    }
    const volts = (word: string) => quantityAt(`--measured ${text}`, amount('volts', 'V', -600, 600), word);
    return [volts(volts_in), volts(volts_out)] as const;
  });
  if (ratio === undefined && pairs === undefined) {
    if (resistance_kohm === undefined) return undefined;
    const what = '--resistance-kohm without a divider that it belongs to';
    throw new StandoffError('option-unknown', what, 'give --ratio or --measured as well');
  }
  const told = ratio === undefined ? undefined : quantityAt(`--ratio ${ratio}`, amount('ratio', '', 1, 100_000), ratio);
  return { ratio: told ?? ratioOf(pairs!), resistance_kohm, pairs };
}

/** Prints what can be said of a ready-made divider. @returns 1 when something does not do, else 5: much cannot be known */
function readyMade(sheet: ReadyMadeSheet, { json }: DividerOptions, style: TerminalStyle): number {
  const found = { format: 'standoff ready-made divider 1', ...sheet };
  process.stdout.write(json ? `${JSON.stringify(found, undefined, 2)}\n` : readyMadePage(sheet, style));
  return sheet.findings.length > 0 ? EXIT.broken : EXIT.unknown;
}

function noDesign(search: SearchResult, rank: number, found: readonly Relaxation[]): StandoffError {
  const most = Object.entries(search.refused).sort(([, a], [, b]) => b - a);
  const reasons = most.map(([why, count]) => `${why} ${count}`).join(', ');
  const what =
    search.proposals.length === 0
      ? `none of ${search.tried} combinations keeps every limit (refused first by: ${reasons})`
      : `only ${search.proposals.length} designs keep every limit, there is no number ${rank}`;
  if (search.proposals.length > 0)
    return new StandoffError('divider-none', what, `give --rank 1 to ${search.proposals.length}`);
  const parts = 'parts with higher ratings, of a finer series or with less drift in machine.divider';
  if (found.length === 0)
    return new StandoffError(
      'divider-none',
      what,
      `no limit helps that gives up to ${MOST_TIMES} times: give ${parts}`,
    );
  const asked = withoutOptions(process.argv.slice(2), ['--rank']);
  const lines = found.map((one) => {
    const words = Object.entries(one).flatMap(([name, value]) => ['--limit', `${name}=${value}`]);
    return `    npx standoff ${shellWords([...asked, ...words])}`;
  });
  return new StandoffError(
    'divider-none',
    what,
    `the least that has to give, tried:\n${lines.join('\n')}\n  or give ${parts}`,
  );
}

function jsonText({ data_sheet, search, trials, rank, module_sha256, warnings, setup, use }: DividerReport): string {
  const proposals = search?.proposals.map(({ machine, ratio, figures }) => ({
    divider: machine.divider,
    ratio,
    figures,
  }));
  const found = {
    format: 'standoff divider 2',
    divider: setup.machine.divider,
    use,
    data_sheet,
    trials: trials.map(({ fault, results }) => ({ part: fault.part, failure: fault.failure, results })),
    module_sha256,
    ...(search && { search: { ...search, proposals }, rank }),
    warnings,
  };
  return `${JSON.stringify(found, undefined, 2)}\n`;
}

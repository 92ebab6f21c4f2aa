import { StandoffError } from '../../base/index.js';
import {
  type ElectricalMachine,
  circuitSvg,
  type DataSheet,
  dataSheet,
  netlistOf,
  type SearchResult,
  searchDesigns,
  tapOf,
  type Use,
} from '../../electrical/index.js';
import { loadControlModule, WasmController } from '../../run/controller/index.js';
import { type Setup, setupWarnings, writeSetup } from '../../run/setup/index.js';
import { terminalStyle } from '../../views/terminal/index.js';
import { writeFiles } from '../base/bench-files.js';
import { EXIT } from '../base/exit.js';
import { DEFAULT_SEED, partsWarnings, readSetupOptions } from '../base/inputs.js';
import { type DividerOptions, LISTED, readLimits } from './divider-options.js';
import { dividerPage } from './divider-text.js';
import { type FaultTrial, tryFaults } from '../../campaign/fault-trial.js';

/** Everything that the command found. */
export interface DividerReport {
  readonly setup: Setup;
  readonly use: Use;
  readonly sheet: DataSheet;
  readonly trials: readonly FaultTrial[];
  readonly module_sha256: string;
  /** Absent with --check. */
  readonly search?: SearchResult;
  readonly rank: number;
  readonly warnings: readonly string[];
}

/**
 * Sizes a divider or checks one, and prints its data sheet.
 * @returns the exit status
 * @throws StandoffError for bad input
 */
export function divider(options: DividerOptions): number {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const given = readSetupOptions(options);
  const limits = readLimits(options.wish ?? []);
  const use = useOf(given);
  const search = options.check ? undefined : searchDesigns(given.machine, use, limits, LISTED);
  const rank = options.rank ?? 1;
  if (search && search.proposals.length < rank) throw noDesign(search, rank);
  const setup = search ? withDivider(given, search.proposals[rank - 1]!.machine) : given;
  const sheet = dataSheet(setup.machine, use, limits);
  const module = loadControlModule();
  const report: DividerReport = {
    setup,
    use,
    sheet,
    trials: tryFaults(setup, sheet.faults, module, DEFAULT_SEED),
    module_sha256: new WasmController(module).module_sha256,
    ...(search && { search }),
    rank,
    warnings: [...setupWarnings(setup), ...partsWarnings(setup.machine)],
  };
  writeFiles(
    [
      { option: '--svg', path: options.svg, endings: ['.svg'], text: () => circuitSvg(setup.machine) },
      {
        option: '--spice',
        path: options.spice,
        endings: ['.cir', '.sp', '.net'],
        text: () => netlistOf(setup.machine, use.target_V),
      },
      { option: '--store', path: options.store, endings: ['.yaml', '.yml'], text: () => writeSetup(asParts(setup)) },
    ],
    [options.setup],
    options.force === true,
  );
  process.stdout.write(options.json ? jsonText(report) : dividerPage(report, style));
  const { missed, findings } = sheet;
  const bad = report.trials.some(({ results }) =>
    results.some(({ verdict }) => verdict === 'unnoticed' || verdict === 'late'),
  );
  return missed.length === 0 && findings.length === 0 && !bad ? EXIT.kept : EXIT.broken;
}

/** What box and world give to the bench. */
export function useOf({ box, world }: Setup): Use {
  return {
    target_V: box.target_V!,
    highest_V: box.arc_high_V!,
    slope_V_per_mm: box.arc_slope_V_per_mm!,
    loop_per_s: box.gain_p_per_s!,
    inverter_kHz: world.noise.inverter_kHz,
  };
}

/** A setup with another divider in it; until it is calibrated the box takes what the parts make by their values. */
export function withDivider(setup: Setup, machine: ElectricalMachine): Setup {
  const fitted = asParts({
    ...setup,
    machine: { ...setup.machine, divider: { ...setup.machine.divider, ...machine.divider } },
  });
  const { divider: own, converter } = fitted.machine;
  const gain_mV = (own.ratio * converter.reference_V * 1000) / 2 ** converter.bits;
  const reading = { reading_gain_mV: digits(gain_mV, 4), reading_zero_counts: converter.zero_counts };
  return { ...fitted, box: { ...fitted.box, ...reading } };
}

/** Ratio and time constant of the machine section as its parts make them. */
export function asParts(setup: Setup): Setup {
  return { ...setup, machine: { ...setup.machine, divider: { ...setup.machine.divider, ...nominal(setup.machine) } } };
}

/** Ratio to four digits and time constant to three: more than the parts' tolerances give. */
function nominal(machine: ElectricalMachine): { readonly ratio: number; readonly rc_ms: number } {
  const { ratio, rc_ms } = tapOf(machine);
  return { ratio: digits(ratio, 4), rc_ms: digits(rc_ms, 3) };
}

const digits = (value: number, count: number): number => Number(value.toPrecision(count));

function noDesign(search: SearchResult, rank: number): StandoffError {
  const most = Object.entries(search.refused).sort(([, a], [, b]) => b - a);
  const reasons = most.map(([why, count]) => `${why} ${count}`).join(', ');
  const what =
    search.proposals.length === 0
      ? `none of ${search.tried} combinations keeps every wish (refused first by: ${reasons})`
      : `only ${search.proposals.length} designs keep every wish, there is no number ${rank}`;
  const remedy = 'ask for less with --wish, or give parts with higher ratings or of a finer series in machine.divider';
  return new StandoffError('divider-none', what, remedy);
}

function jsonText({ sheet, search, trials, rank, module_sha256, warnings, setup, use }: DividerReport): string {
  const proposals = search?.proposals.map(({ machine, ratio, figures }) => ({
    divider: machine.divider,
    ratio,
    figures,
  }));
  const found = {
    format: 'standoff divider 1',
    machine: setup.machine.divider,
    use,
    sheet,
    trials: trials.map(({ fault, results }) => ({ part: fault.part, failure: fault.failure, results })),
    module_sha256,
    ...(search && { search: { ...search, proposals }, rank }),
    warnings,
  };
  return `${JSON.stringify(found, undefined, 2)}\n`;
}

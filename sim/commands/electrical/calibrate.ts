import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { type Calibration, calibrate } from '../../electrical/index.js';
import { readPair, readPairs, withCalibration } from '../../run/job/index.js';
import { type Setup, writeSetup } from '../../run/setup/index.js';
import { fixed, type TerminalStyle, terminalStyle } from '../../views/text/index.js';
import { collect, type Ended, EXIT } from '../base/command-line.js';
import { readText, writeFiles } from '../base/files.js';
import { readSetupOptions, setupFile } from '../base/inputs.js';
import { HIGH_VOLTAGE_CAUTIONS, Page } from '../base/page.js';

const HOW = `
How it is done, without any high voltage:
  1. Pull the plug of the cutting supply; wait as long as its warning says; prove
     the tap dead with a meter that was proved on a live source before and after.
  2. Take the tap's two leads off the supply, on the supply's side of the
     protective resistors, so that they are part of what is calibrated.
  3. Put a low-voltage source there, plus to the work lead: 0 V (leads joined),
     then some voltages up to 60 V; once 5 to 10 V with the leads exchanged.
  4. For each: read the meter at the leads, and the mean counts of the box.
  5. Put the leads back. A calibration at 60 V is drawn on to the arc's voltage:
     what that costs is printed as the uncertainty at the target.`;

const command = () =>
  new Command('calibrate')
    .description('Turns pairs of meter volts and box counts into gain and zero, with residuals and uncertainty.')
    .option('--pair <volts=counts>', 'a pair, such as 60.02=744.3; may be repeated', collect)
    .option('--file <file>', 'pairs as CSV with the heading meter_V,counts')
    .option('--setup <file>', 'setup with the parts and the meter in its machine section (default: the example)')
    .option(
      '--set <name=value>',
      'change a value, such as machine.meter.accuracy_percent=0.5; may be repeated',
      collect,
    )
    .option('--meter <text>', 'which meter was used, for the record')
    .option('--date <date>', 'day of the calibration, as 2026-11-25 (default: today)')
    .option('--store <file>', 'write the setup with the calibration in its box section')
    .option('--force', 'write over an existing file')
    .option('--json', 'print the calibration as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', `${HOW}\n\nExit status: 0 calibrated, 2 pairs that make no sense or bad input.`);

/** `standoff calibrate`. */
export const calibrateCommand = (ended: Ended) => command().action((options) => ended(calibrateBox(options)));

type CalibrateOptions = ReturnType<ReturnType<typeof command>['opts']>;

/**
 * Calibrates from typed pairs and pairs of a file.
 * @returns the exit status
 * @throws StandoffError for bad input and for pairs that make no sense
 */
function calibrateBox(options: CalibrateOptions): number {
  const { pair: typed = [], file } = options;
  const pairs = [
    ...typed.map(readPair),
    ...(file === undefined ? [] : readPairs(readText(file, 'list of pairs'), file)),
  ];
  if (pairs.length === 0) {
    throw new StandoffError(
      'pairs-none',
      'no pairs were given',
      'give --pair volts=counts or --file; standoff calibrate --help tells how it is done',
    );
  }
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const setup = readSetupOptions(options);
  const date = dateOf(options.date);
  const meter = recordText(options.meter);
  const found = calibrate(pairs, setup.machine, setup.box.target_V);
  const changed = withCalibration(setup, found);
  const record = recordLines(found, date, meter);
  writeFiles(
    [
      {
        option: '--store',
        path: options.store,
        endings: ['.yaml', '.yml'],
        text: () => `${record.map((line) => `# ${line}`).join('\n')}\n${writeSetup(changed)}`,
      },
    ],
    [setupFile(options.setup), options.file],
    options.force === true,
  );
  const { reading_gain_mV, reading_zero_counts } = changed.box;
  const json = {
    format: 'standoff calibration 1',
    date,
    meter,
    box: { reading_gain_mV, reading_zero_counts },
    ...found,
  };
  process.stdout.write(
    options.json ? `${JSON.stringify(json, undefined, 2)}\n` : calibrationPage(found, changed, record, style),
  );
  return EXIT.kept;
}

function dateOf(text: string | undefined): string {
  if (text === undefined) return new Date().toISOString().slice(0, 10);
  const day = new Date(`${text}T00:00:00Z`);
  if (/^\d{4}-\d{2}-\d{2}$/.test(text) && !Number.isNaN(day.getTime()) && day.toISOString().startsWith(text))
    return text;
  throw new StandoffError('option-date', `--date ${text} is no day`, 'write it as 2026-11-25');
}

/** One line for a record. */
const recordText = (text: string | undefined): string => (text ?? '').replaceAll(/\s+/g, ' ').trim() || 'not named';

function recordLines(
  { residuals, gain_mV, gain_uncertainty_mV, zero_counts, zero_uncertainty_counts }: Calibration,
  date: string,
  meter: string,
): string[] {
  const volts = residuals.map(({ pair }) => pair.meter_V);
  return [
    `Calibrated ${date}, meter: ${meter}; ${residuals.length} pairs from ${Math.min(...volts)} to ${Math.max(...volts)} V.`,
    `A count is ${fixed(gain_mV, 3)} ± ${fixed(gain_uncertainty_mV, 3)} mV, zero at ${fixed(zero_counts, 2)} ± ${fixed(zero_uncertainty_counts, 2)} counts (two standard uncertainties).`,
  ];
}

function calibrationPage(
  found: Calibration,
  { box, machine }: Setup,
  record: readonly string[],
  style: TerminalStyle,
): string {
  const page = new Page(style);
  for (const line of record) page.strong(line);
  page.pairs([
    [
      'at the target',
      `${found.target_V} V are read within ±${fixed(found.target_uncertainty_V, 2)} V, ${fixed((100 * found.target_uncertainty_V) / found.target_V, 2)} %, ${fixed(found.target_uncertainty_V / box.arc_slope_V_per_mm, 3)} mm (${box.arc_slope_V_per_mm} V/mm assumed)`,
    ],
    [
      'by the parts',
      `a count would be ${fixed(found.nominal_gain_mV, 2)} mV, zero at ${machine.converter.zero_counts}`,
    ],
    ['meter', `±(${machine.meter.accuracy_percent} % + ${machine.meter.accuracy_V} V), from machine.meter`],
  ]);
  page.heading('Residuals');
  page.table(
    { titles: ['meter V', 'counts', 'off V', 'allowed V'], sides: ['right', 'right', 'right', 'right'] },
    found.residuals.map(({ pair, residual_V, allowed_V }) => [
      String(pair.meter_V),
      String(pair.counts),
      fixed(residual_V, 3),
      `±${fixed(allowed_V, 2)}`,
    ]),
  );
  if (!found.both_polarities) {
    page.alarm('No pair has exchanged leads: one at -5 to -10 V would show that the box sees a reversed polarity.');
  }
  page
    .heading('For the box')
    .raw([`  reading_gain_mV: ${box.reading_gain_mV}`, `  reading_zero_counts: ${box.reading_zero_counts}`]);
  page.heading('Cautions');
  for (const caution of HIGH_VOLTAGE_CAUTIONS) page.quiet(caution);
  return page.text();
}

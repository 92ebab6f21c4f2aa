import { Command } from '@commander-js/extra-typings';
import { contradictionsOf, EDGE_MM, type Understood, understand } from '../../run/job/index.js';
import type { Setup } from '../../run/setup/index.js';
import { clockText, fixed, type TerminalStyle, terminalStyle } from '../../views/text/index.js';
import { collect, type Ended, EXIT } from '../base/command-line.js';
import { dutySentences } from '../base/duty-text.js';
import { blockDelete, type FileJob, readJob } from '../base/inputs.js';
import { Page } from '../base/page.js';

const command = () =>
  new Command('check')
    .description(
      'Reads a program and a setup, and says what was understood and whether they can go together. Nothing is ' +
        'simulated. Without a program and a setup: the example.',
    )
    .argument('[program]', 'RS-274 program, such as gate.nc; - reads it from standard input')
    .addOption(blockDelete())
    .option('--setup <file>', 'box, machine and world, as YAML (default: the example)')
    .option('--set <name=value>', 'change a value, such as target_V=125; may be repeated', collect)
    .option('--json', 'print what was found as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 nothing against it, 1 something is dangerous or contradictory, 2 bad input,' +
        '\n3 a mistake in Standoff.',
    );

/** `standoff check`. */
export const checkCommand = (ended: Ended) =>
  command().action(async (program, options) => ended(check(program, options)));

type CheckOptions = ReturnType<ReturnType<typeof command>['opts']>;

/** What stands against a cut, in whole sentences. */
interface Findings {
  readonly dangers: readonly string[];
  readonly contradictions: readonly string[];
  readonly notes: readonly string[];
}

/** @returns the exit status @throws StandoffError for bad input */
function check(program_file: string | undefined, options: CheckOptions): number {
  const job = readJob(program_file, options);
  const { plan, line_count, dangers, notes } = job;
  const { setup, program } = job.scenario;
  const understood = understand(plan, line_count, setup);
  const findings = {
    dangers: [...dangers, ...holeDangers(understood, setup, program.name), ...dutyDangers(understood)],
    contradictions: contradictionsOf(setup, plan),
    notes,
  };
  const wrong = findings.dangers.length + findings.contradictions.length;
  if (options.json) {
    const json = { format: 'standoff check 1', program: program.name, wrong, ...findings, understood };
    process.stdout.write(`${JSON.stringify(json, undefined, 2)}\n`);
  } else {
    const style = terminalStyle(process.env, process.stdout, options.plain);
    process.stdout.write(pageText(job, understood, findings, options.setup, style));
  }
  return wrong === 0 ? EXIT.kept : EXIT.broken;
}

/** The duty cycle, where the program asks for more than the supply allows. */
const dutyDangers = ({ duty }: Understood): string[] =>
  dutySentences(duty)
    .filter(({ alarm }) => alarm)
    .map(({ text }) => text.replace(/\.$/, ''));

/** A path that is narrower than its own kerf leaves no slug, and the arc burns where it has burnt before. */
function holeDangers({ smallest }: Understood, { world }: Setup, file: string): string[] {
  const { kerf_mm } = world.arc;
  if (smallest === undefined || smallest.across_mm >= kerf_mm) return [];
  const across = fixed(smallest.across_mm, 2);
  return [
    `${file}:${smallest.line}: the path closes on itself ${across} mm across, and the kerf is ${kerf_mm} mm wide`,
  ];
}

function pageText(
  { scenario: { program, setup } }: FileJob,
  understood: Understood,
  { dangers, contradictions, notes }: Findings,
  setup_file: string | undefined,
  style: TerminalStyle,
): string {
  const page = new Page(style).heading(`What was understood of ${program.name}`).pairs(pairsOf(understood, setup));
  const list = (title: string, sentences: readonly string[], alarm: boolean) => {
    if (sentences.length === 0) return;
    page.heading(title);
    for (const sentence of sentences) alarm ? page.alarm(sentence) : page.quiet(sentence);
  };
  list('Dangerous or senseless', dangers, true);
  list('Setup and program contradict', contradictions, true);
  list('Notes', notes, false);
  const wrong = dangers.length + contradictions.length;
  page.heading('In all');
  page.say(
    wrong === 0
      ? 'Nothing was found against it. Nothing was simulated: what a cut does is said by standoff simulate.'
      : `${wrong} ${wrong === 1 ? 'finding is' : 'findings are'} dangerous or contradictory. Nothing was simulated.`,
  );
  if (setup_file === undefined) page.quiet("No --setup was given: these are the example's sheet, supply and box.");
  return page.text();
}

const feedText = (mm_s: number): string => `${fixed(mm_s * 60, 0)} mm/min`;
const metres = (length_mm: number): string => `${fixed(length_mm / 1000, 2)} m`;

function pairsOf(understood: Understood, { machine, world }: Setup): [string, string][] {
  const { bounds, smallest, rapids_over_parts: over, duty, slowest_mm_s, fastest_mm_s } = understood;
  const { sheet_width_mm, sheet_height_mm } = machine.table;
  const kerf_mm = world.arc.kerf_mm;
  const corner = (x_mm: number, y_mm: number) => `X${fixed(x_mm, 1)} Y${fixed(y_mm, 1)}`;
  return [
    ['contours', `${understood.contours}, each with a touch-off and a pierce, on ${understood.lines} lines`],
    ['cut', `${metres(understood.cut_length_mm)} of path; ${metres(understood.rapid_length_mm)} of rapids`],
    [
      'feed',
      slowest_mm_s === fastest_mm_s ? feedText(fastest_mm_s) : `${feedText(slowest_mm_s)} to ${feedText(fastest_mm_s)}`,
    ],
    [
      'place',
      `${corner(bounds.min_x_mm, bounds.min_y_mm)} to ${corner(bounds.max_x_mm, bounds.max_y_mm)} on a sheet of ${sheet_width_mm} × ${sheet_height_mm} mm`,
    ],
    [
      'smallest loop',
      smallest
        ? `${fixed(smallest.across_mm, 2)} mm across its path, line ${smallest.line}: ${fixed(smallest.across_mm / kerf_mm, 1)} kerf widths of ${kerf_mm} mm`
        : 'no path closes on itself',
    ],
    [
      'rapids',
      over.count === 0
        ? 'none passes over what was cut out before'
        : `${over.count} over what was cut out before, the first in line ${over.line} over the contour of line ${over.part_line}: a part may have tipped up`,
    ],
    [
      'edge starts',
      understood.edge_starts === 0 ? 'none' : `${understood.edge_starts} within ${EDGE_MM} mm of the edge`,
    ],
    ['time', `about ${clockText(understood.time_s)}, of which ${clockText(understood.motion_s)} are motion`],
    [
      'duty',
      `about ${fixed(duty.study.busiest_s / 6, 1)} % of ten minutes at ${duty.cut_A} A; ${fixed(duty.allowed_percent, 0)} % are allowed`,
    ],
  ];
}

// What a person knows on the first day, the keys of a setup that it decides, and the first setup as text.
import type { Row } from '../../world/plant/index.js';
import { ROWS_BY_PATH } from './schema.js';

/** One question. */
export interface FirstQuestion {
  /** Option without its hyphens; it ends in the unit. */
  readonly option: string;
  readonly text: string;
  /** Keys that one answer decides, each the answer times `times`; the first gives range and unit. */
  readonly paths: readonly string[];
  readonly times?: number;
  readonly unit?: string;
  /** Where to look for it. */
  readonly where: string;
}

const question = (
  option: string,
  text: string,
  where: string,
  paths: readonly string[],
  more: Pick<FirstQuestion, 'times' | 'unit'> = {},
): FirstQuestion => ({ option, text, where, paths, ...more });

const CHART = "the supply's cutting chart, for this sheet and current";
const PLATE = 'the data plate';
const CONTROLLER = 'the set-up of the motion controller';

/** In the order of asking. */
export const FIRST_QUESTIONS: readonly FirstQuestion[] = [
  question('thickness-mm', 'How thick is the sheet?', 'a caliper', ['machine.table.sheet_thickness_mm']),
  question('sheet-width-mm', 'How far does the sheet reach along X?', 'a rule', ['machine.table.sheet_width_mm']),
  question('sheet-height-mm', 'How far along Y?', 'a rule', ['machine.table.sheet_height_mm']),
  question('x-steps-per-mm', 'Steps of the X axis for a millimetre?', CONTROLLER, [
    'machine.table.x_steps_per_mm',
    'box.x_steps_per_mm',
  ]),
  question('y-steps-per-mm', 'Steps of the Y axis for a millimetre?', CONTROLLER, [
    'machine.table.y_steps_per_mm',
    'box.y_steps_per_mm',
  ]),
  question('z-steps-per-mm', 'Steps of the Z axis for a millimetre?', CONTROLLER, [
    'machine.axis.steps_per_mm',
    'box.z_steps_per_mm',
  ]),
  question(
    'permit-watched',
    'Does the motion controller watch an input (feed hold, interlock) all the time, and stop when it goes off?',
    "the motion controller's manual: an input that is only read once is not watched",
    ['machine.table.permit_watched'],
  ),
  question('cut-A', 'Which cutting current will be set?', CHART, ['machine.supply.cut_A']),
  question('feed-mm-min', 'Which feed?', CHART, ['box.target_feed_mm_s', 'world.arc.nominal_feed_mm_s'], {
    times: 1 / 60,
    unit: 'mm/min',
  }),
  question('cut-height-mm', 'Which cut height?', CHART, ['box.cut_height_mm', 'world.arc.cut_standoff_mm']),
  question('pierce-height-mm', 'Which pierce height?', CHART, ['box.pierce_height_mm']),
  question('pierce-ms', 'Which pierce delay?', CHART, ['box.pierce_ms']),
  question('arc-V', 'Which arc voltage is to be expected?', CHART, ['box.target_V', 'world.arc.voltage_at_cut_V']),
  question('u0-V', 'No-load voltage (U0)?', PLATE, ['machine.supply.no_load_V']),
  question('rated-A', 'Rated cutting current (I2)?', PLATE, ['machine.supply.rated_A']),
  question('duty-percent', 'Duty cycle at that current (X)?', PLATE, ['machine.supply.duty_percent']),
  question('mains-Hz', 'Mains frequency, 50 or 60?', PLATE, ['machine.supply.mains_Hz', 'box.mains_Hz']),
];

/** The row that an answer is checked by, in the unit of the answer. */
export function firstRow({ paths, times = 1, unit }: FirstQuestion): Row {
  const row = ROWS_BY_PATH.get(paths[0])!;
  const others = paths.map((path) => ROWS_BY_PATH.get(path)!);
  const least = Math.max(...others.map(({ min }) => min)) / times;
  const most = Math.min(...others.map(({ max }) => max)) / times;
  const usual = typeof row.default === 'boolean' ? row.default : row.default / times;
  return { ...row, min: least, max: most, default: usual, unit: unit ?? row.unit };
}

/** By option: a number in the unit of the question, or yes or no; undefined: not known yet. */
export type FirstAnswers = Readonly<Record<string, number | boolean | undefined>>;

const FIRST_SECTIONS = {
  machine: 'What a rule, a meter and the plates on the machine tell.',
  box: 'What is stored in the box. With target_V and feed only what to expect is told: the box finds both at each touch-off.',
  world:
    'What is only assumed for simulation: the box never sees it. It agrees with what the box is told until a cut is measured.',
} as const;

const short = (value: number): string => String(Number(value.toPrecision(6)));

/** `    no_load_V: 290 V        # No-load voltage (U0)`, or the same commented out where nobody knows it yet. */
function keyLine(one: FirstQuestion, path: string, answers: FirstAnswers): string {
  const [, ...names] = path.split('.');
  const indent = '  '.repeat(names.length);
  const answer = answers[one.option];
  const { unit } = ROWS_BY_PATH.get(path)!;
  const valueText = (value: number | boolean) =>
    typeof value === 'boolean' ? String(value) : `${short(value * (one.times ?? 1))} ${unit}`.trimEnd();
  if (answer === undefined) {
    const usual = valueText(firstRow(one).default);
    return `${indent}# ${names.at(-1)}: ${usual}   # NOT KNOWN YET: see ${one.where}; ${usual} is assumed until then`;
  }
  return `${indent}${`${names.at(-1)}: ${valueText(answer)}`.padEnd(28)} # ${one.text.replace(/\?$/, '')}`;
}

/** Every key of a section that a question decides, by its group. */
function sectionLines(section: keyof typeof FIRST_SECTIONS, answers: FirstAnswers): string[] {
  const entries = FIRST_QUESTIONS.flatMap((one) =>
    one.paths
      .filter((path) => path.startsWith(`${section}.`))
      .map((path) => ({ path, line: keyLine(one, path, answers) })),
  );
  const groupOf = (path: string) => path.split('.').slice(1, -1).join('.');
  const groups = [...new Set(entries.map(({ path }) => groupOf(path)))];
  return [
    `# ${FIRST_SECTIONS[section]}`,
    `${section}:`,
    ...groups.flatMap((group) => [
      ...(group === '' ? [] : [`  ${group}:`]),
      ...entries.filter(({ path }) => groupOf(path) === group).map(({ line }) => line),
    ]),
    '',
  ];
}

/** The setup, commented; read, it keeps the default of every key that is not in it. */
export function firstSetup(answers: FirstAnswers, date: string): string {
  return [
    `# The setup of a table, begun ${date} by standoff init. Only the keys that must be right first are here; every other`,
    "# keeps its default: 'standoff schema' prints them all for your editor. A number may be written with its unit.",
    '# A line with NOT KNOWN YET is left out: take the # away when you know the value.',
    '',
    ...(['machine', 'box', 'world'] as const).flatMap((section) => sectionLines(section, answers)),
  ].join('\n');
}

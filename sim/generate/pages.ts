// The generated pages of hardware-notes; apart from files.ts, which has the generated code.
import {
  type CodeRow,
  FAULT_ROWS,
  HOLD_ROWS,
  MODE_ROWS,
  REFUSAL_ROWS,
  STAGE_ROWS,
} from '../../firmware/wire/code-rows.js';
import { PARAMETER_GROUPS } from '../../firmware/wire/parameter-rows.js';
import {
  type BitRow,
  FLAG_ROWS,
  INPUT_BIT_ROWS,
  INPUT_ROWS,
  OUTPUT_BIT_ROWS,
  OUTPUT_ROWS,
} from '../../firmware/wire/tick-rows.js';
import { COLUMN_ROWS } from '../run/trace/index.js';
import {
  DANGER_ROWS,
  G_ROWS,
  JOB_DANGER_ROWS,
  LETTER_ROWS,
  M_ROWS,
  OTHER_ROWS,
  type WordClass,
  type WordRow,
} from '../world/motion/index.js';
import { MACHINE_ROWS, type Row, type Sum, FAULT_ROWS as WORLD_FAULT_ROWS, WORLD_ROWS } from '../world/plant/index.js';

/** The page of hardware-notes that explains what a group of the machine or world section is about. */
export const PAGES_OF_GROUPS: Readonly<Record<string, string>> = {
  axis: 'axis.md',
  head: 'axis.md',
  divider: 'electrical.md',
  isolation: 'sensing.md',
  converter: 'sensing.md',
  supply: 'electrical.md',
  table: 'axis.md',
  origins: 'program-words.gen.md',
  firing: 'firing.md',
  shop: 'electrical.md',
  meter: 'electrical.md',
  sheet: 'fuzzing.md',
  arc: 'fuzzing.md',
  noise: 'fuzzing.md',
};

type Cells = readonly (string | number)[];
const line = (cells: Cells): string => `| ${cells.join(' | ')} |`;
const table = (titles: Cells, rows: readonly Cells[]): string[] => [
  line(titles),
  line(titles.map(() => '---')),
  ...rows.map(line),
  '',
];
const name = (text: string): string => `\`${text}\``;

const page = (title: string, about: readonly string[], body: readonly string[]): string =>
  [
    '<!-- Generated from the rows by `npm run generate`. Do not edit. -->',
    `# ${title}`,
    '',
    '> Voltages of an open plasma arc kill. Prove circuits dead before you touch them, with a meter proved before and after',
    '> ([how](dead.md)). Local electrical code and licensed practice come first. This is not an instruction to open a supply.',
    '',
    ...about,
    '',
    ...body,
  ].join('\n');

/** `parameters.gen.md`: what is stored in the box. */
export const parametersPage = (): string =>
  page(
    'Parameters of the box',
    ['What is stored in the box, in the section `box` of a setup file, and changed with `standoff box`.'],
    PARAMETER_GROUPS.flatMap(({ title, notes, rows }) => [
      `## ${title}`,
      '',
      `See [${notes}](${notes}).`,
      '',
      ...table(
        ['parameter', 'unit', 'least', 'most', 'default', 'meaning'],
        rows.map((row) => [
          name(row.name),
          row.unit === '1' ? '–' : row.unit,
          row.min,
          row.max,
          row.default,
          row.meaning,
        ]),
      ),
    ]),
  );

/** What is drawn, or the letter of the sentence why nothing is. */
function drawnText({ drawn = '' }: Row, reasons: readonly string[]): string {
  if (typeof drawn === 'string') return `– (${letter(reasons.indexOf(drawn))})`;
  const { to, by, times, share_of, at_most, at_least, none_below } = drawn;
  const range = to ? to.join('…') : by === undefined ? `± ${times! * 100} %` : by === 0 ? 'as it is' : `± ${by}`;
  return [
    share_of ? `${range} × ${sumText(share_of)}` : range,
    ...(at_most ? [`at most ${sumText(at_most)}`] : []),
    ...(at_least ? [`at least ${sumText(at_least)}`] : []),
    ...(none_below === undefined ? [] : [`below ${none_below}: 0`]),
  ].join(', ');
}

function sumText({ of, plus = 0 }: Sum): string {
  const parts = Object.entries(of).map(([path, factor]) => {
    const name = `\`${path.replace(/^world\./, '')}\``;
    return factor === 1 ? name : `${Number(factor.toPrecision(3))} × ${name}`;
  });
  return [...parts, ...(plus === 0 ? [] : [String(plus)])].join(' + ');
}
const letter = (index: number): string => String.fromCharCode(97 + index);

const isPlace = ({ path }: Row): boolean => path.startsWith('origins.');

/** Two dozen rows that differ in a name: a line of them. */
function placesText(rows: readonly Row[]): string[] {
  if (rows.length === 0) return [];
  const [{ min, max, default: usual, unit }] = rows;
  const names = rows.map(({ path }) => name(path)).join(', ');
  return [
    `Places from the lower left corner of the sheet, ${unit}, ${min}…${max}, ${usual} by default, not drawn: ${names}.`,
  ];
}

function quantities(rows: readonly Row[]): string[] {
  const groups = [...new Set(rows.map(({ path }) => path.split('.')[0]))];
  const reasons = [...new Set(rows.flatMap(({ drawn = '' }) => (typeof drawn === 'string' ? [drawn] : [])))];
  const seen = groups.map((group) => `${group}: [${PAGES_OF_GROUPS[group]}](${PAGES_OF_GROUPS[group]})`);
  return [
    `What the groups are about: ${seen.join(', ')}.`,
    ...placesText(rows.filter(isPlace)),
    '',
    ...table(
      ['quantity', 'unit', 'range', 'default', 'meaning', 'a campaign draws'],
      rows
        .filter((row) => !isPlace(row))
        .map((row) => [
          name(row.path),
          row.unit === '' ? '–' : row.unit,
          row.kind === 'boolean' ? 'true, false' : row.choices ? row.choices.join(', ') : `${row.min}…${row.max}`,
          String(row.default),
          row.meaning,
          drawnText(row, reasons),
        ]),
    ),
    ...reasons.map((reason, index) => `- ${letter(index)}: ${reason}.`),
    '',
  ];
}

/** `setup.gen.md`: machine and world of a setup file. */
export const setupPage = (): string =>
  page(
    'Machine and world of a setup',
    [
      'The sections `machine` and `world` of a setup file, and what a campaign draws around the values of a setup. Faults are',
      'entries of the list `world.faults`; a campaign draws each of them.',
    ],
    [
      '## Machine',
      '',
      ...quantities(MACHINE_ROWS),
      '## World',
      '',
      ...quantities(WORLD_ROWS),
      '## Faults of the world',
      '',
      ...table(
        ['kind', 'meaning', 'value'],
        WORLD_FAULT_ROWS.map((row) => {
          const value = 'value' in row ? row.value : undefined;
          const text = value ? `${value.min}…${value.max} ${value.unit}, default ${value.default}` : '–';
          return [name(row.kind), row.meaning, text];
        }),
      ),
    ],
  );

const bits = (title: string, prefix: string, rows: readonly BitRow[]): string[] => [
  `## ${title}`,
  '',
  ...table(
    ['bit', 'name', 'meaning'],
    rows.map((row) => [row.bit, name(`${prefix}_${row.name}`), row.meaning]),
  ),
];
const codes = (title: string, rows: readonly CodeRow[]): string[] => [
  `## ${title}`,
  '',
  ...table(
    ['code', 'name', 'meaning'],
    rows.map((row) => [row.code, name(row.name), row.meaning]),
  ),
];

/** `recorded.gen.md`: what a recorded run and the telemetry of a box hold. */
export const recordedPage = (): string =>
  page(
    'Recorded runs',
    [
      'The columns of a recorded run (`standoff simulate --trace`, `standoff watch --save`), one row a millisecond, and their',
      'codes. A box sends those that are marked.',
    ],
    [
      '## Columns',
      '',
      ...table(
        ['column', 'unit', 'known to', 'a box sends it', 'meaning'],
        COLUMN_ROWS.map((row) => [name(row.name), row.unit, row.by, row.telemetry ? 'yes' : '–', row.meaning]),
      ),
      '## Inputs and outputs of the module that are not recorded',
      '',
      ...table(
        ['name', 'unit', 'meaning'],
        [...INPUT_ROWS, ...OUTPUT_ROWS]
          .filter(({ trace }) => !trace)
          .map((row) => [name(row.name), row.unit, row.meaning]),
      ),
      ...bits('Bits of the digital inputs', 'INPUT', INPUT_BIT_ROWS),
      ...bits('Bits of the digital outputs', 'OUTPUT', OUTPUT_BIT_ROWS),
      ...bits('Bits of the flags', 'FLAG', FLAG_ROWS),
      ...codes('Modes', MODE_ROWS),
      ...codes('Stages', STAGE_ROWS),
      ...codes('Holds', HOLD_ROWS),
      ...codes('Refusals', REFUSAL_ROWS),
      '## Faults',
      '',
      ...table(
        ['code', 'name', 'what it says', 'what to look at', 'Z', 'latched stop'],
        FAULT_ROWS.map((row) => [
          row.code,
          name(row.name),
          row.meaning,
          row.remedy === '' ? '–' : row.remedy,
          row.z_stops ? 'stops' : 'retracts',
          row.latches_stop ? 'set' : '–',
        ]),
      ),
    ],
  );

const CLASS_TEXTS: Readonly<Record<WordClass, readonly [title: string, about: string]>> = {
  acts: ['Acts on the cut', 'Simulated as written.'],
  passed: [
    'No business of the torch',
    'Accepted, with one note for each word and how often it stands in the program. P, Q and other letters beside it go with it.',
  ],
  danger: [
    'Dangerous or senseless',
    'Told before the simulation begins, with its line. It is simulated, but for what is refused.',
  ],
  refused: ['Not understood', 'Refused, all at once: every word is named with its first line and how often it comes.'],
};

/** Words that mean the same in one line. */
function wordTable(rows: readonly WordRow[]): string[] {
  const lines = new Map<string, { words: string[]; cells: Cells }>();
  for (const { word, says, remedy } of rows) {
    const known = lines.get(says);
    if (known) known.words.push(name(word));
    else lines.set(says, { words: [name(word)], cells: [says, remedy === '' ? '–' : remedy] });
  }
  const with_remedy = rows.some(({ remedy }) => remedy !== '');
  return table(
    with_remedy ? ['words', 'meaning', 'what to do'] : ['words', 'meaning'],
    [...lines.values()].map(({ words, cells }) => [words.join(' '), ...(with_remedy ? cells : cells.slice(0, 1))]),
  );
}

/** `program-words.gen.md`: what a program may hold. */
export function wordsPage(): string {
  const rows = [
    ...G_ROWS,
    ...M_ROWS,
    ...LETTER_ROWS,
    ...OTHER_ROWS,
    ...Object.values<WordRow>(DANGER_ROWS),
    ...JOB_DANGER_ROWS,
  ];
  return page(
    'Words of a program',
    [
      'What `standoff` reads of a program, in four classes. Words, modal groups and the order in which the words of a line take',
      'effect are those of NIST IR 6556 (second hand), and what is common beside it. `standoff check gate.nc` tells what was found.',
      '',
      'Places are counted from the lower left corner of the sheet. Where machine zero, the other coordinate systems and the',
      'reference points lie is said in `machine.origins` of a setup ([setup.gen.md](setup.gen.md)); G54 lies at that corner',
      'unless the setup says otherwise, and the torch stands there at the start.',
    ],
    (Object.keys(CLASS_TEXTS) as WordClass[]).flatMap((of) => [
      `## ${CLASS_TEXTS[of][0]}`,
      '',
      CLASS_TEXTS[of][1],
      '',
      ...wordTable(rows.filter((row) => row.class === of)),
    ]),
  );
}

import { describe, expect, it } from 'vitest';
import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import { PARAMETER_GROUPS, PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import {
  FLAG_ROWS,
  INPUT_BIT_ROWS,
  OUTPUT_BIT_ROWS,
  placedInputs,
  placedOutputs,
} from '../../firmware/wire/tick-rows.js';
import { PAGES_OF_GROUPS } from '../../sim/generate/pages.js';
import { COLUMN_ROWS } from '../../sim/run/trace/index.js';
import { MACHINE_ROWS, FAULT_ROWS as WORLD_FAULT_ROWS, WORLD_ROWS } from '../../sim/world/plant/index.js';
import { projectFiles } from '../architecture/files.js';
import { type Evidence, missing, type Subject, wordsOf } from './belongings.js';

const files = projectFiles();
const textOf = (pattern: RegExp) =>
  files
    .filter(({ path }) => pattern.test(path) && !/\.gen\.|^test\/rows\/belongings/.test(path))
    .map(({ source }) => source)
    .join('\n');

const wordsIn = (pattern: RegExp) => wordsOf(textOf(pattern));

const evidence: Evidence = {
  tested: wordsIn(/^test\/.*\.(ts|c)$|^sim\/judge\/.*\.ts$/),
  notes: new Map(
    files
      .filter(({ path }) => path.startsWith('hardware-notes/'))
      .map(({ path, source }) => [path.slice('hardware-notes/'.length), source]),
  ),
};
const control = wordsIn(/^firmware\/control\/.*\.ts$/);
const firmware = wordsIn(/^firmware\/(?:control|box)\/.*\.(?:ts|c)$/);
const plant = wordsIn(/^sim\/world\/plant\/(?!faults|.*-rows).*\.ts$/);
const host = wordsIn(/^sim\/(?!world\/plant\/.*-rows|generate\/).*\.ts$/);
const constant = (prefix: string, name: string) => `${prefix}_${name.toUpperCase().replaceAll('-', '_')}`;

const inModule = (words: readonly string[]) => ({ place: 'firmware/control', there: control, words });
const inFirmware = (words: readonly string[]) => ({ place: 'firmware', there: firmware, words });
/** Expectations of the person at the table: by them the module decides nothing. */
const SHOWN_ONLY: ReadonlySet<string> = new Set(['transfer_V']);
const PARAMETERS = PARAMETER_ROWS.filter(({ retired }) => retired === undefined).map(
  ({ name, drawn }): Subject => ({
    kind: 'parameter',
    name,
    words: [name, constant('PARAMETER', name)],
    ...(SHOWN_ONLY.has(name) ? {} : { use: inModule([`P.${name}`]) }),
    drawn: { said: drawn },
    pages: ['parameters.gen.md'],
  }),
);
const BLOCKS = [
  ...placedInputs().rows.map((row) => ({ kind: 'input', ...row })),
  ...placedOutputs().rows.map((row) => ({ kind: 'output', ...row })),
].map(
  ({ kind, name, constant: word }): Subject => ({
    kind,
    name,
    words: [name, word],
    use: inModule([word]),
    pages: ['recorded.gen.md'],
  }),
);
const COLUMNS = COLUMN_ROWS.map(
  ({ name }): Subject => ({ kind: 'column', name, words: [name], pages: ['recorded.gen.md'] }),
);
const BITS = (
  [
    ['INPUT', INPUT_BIT_ROWS],
    ['OUTPUT', OUTPUT_BIT_ROWS],
    ['FLAG', FLAG_ROWS],
  ] as const
).flatMap(([prefix, rows]) =>
  rows.map(({ name }): Subject => {
    const word = `${prefix}_${name}`;
    return { kind: 'bit', name: word, words: [word], use: inModule([word]), pages: ['recorded.gen.md'] };
  }),
);
const CODES = (
  [
    ['MODE', MODE_ROWS],
    ['STAGE', STAGE_ROWS],
    ['HOLD', HOLD_ROWS],
    ['REFUSAL', REFUSAL_ROWS],
    ['FAULT', FAULT_ROWS],
  ] as const
).flatMap(([prefix, rows]) =>
  rows.map(({ name }): Subject => {
    const word = constant(prefix, name);
    return {
      kind: prefix.toLowerCase(),
      name,
      words: [`'${name}'`, word],
      use: inFirmware([word]),
      pages: ['recorded.gen.md'],
    };
  }),
);
const QUANTITIES = [...MACHINE_ROWS, ...WORLD_ROWS].map(({ path, drawn }): Subject => {
  const field = path.split('.')[1];
  const use = { place: 'the simulation or the arithmetic', there: host, words: [field] };
  return { kind: 'quantity', name: path, words: [path, field], use, drawn: { said: drawn }, pages: ['setup.gen.md'] };
});
const WORLD_FAULTS = WORLD_FAULT_ROWS.map(
  ({ kind }): Subject => ({
    kind: 'fault of the world',
    name: kind,
    words: [`'${kind}'`],
    use: { place: 'sim/world/plant', there: plant, words: [`'${kind}'`] },
    pages: ['setup.gen.md'],
  }),
);

describe('what belongs to a row is there', () => {
  it.each([
    ['parameters', PARAMETERS, 60],
    ['inputs and outputs of the module', BLOCKS, 20],
    ['columns of a recorded run', COLUMNS, 35],
    ['bits', BITS, 20],
    ['modes, stages, holds, refusals, faults', CODES, 50],
    ['quantities of machine and world', QUANTITIES, 130],
    ['faults of the world', WORLD_FAULTS, 20],
  ] as const)('%s', (_, subjects, least) => {
    expect(subjects.length).toBeGreaterThanOrEqual(least);
    expect(subjects.flatMap((subject) => missing(subject, evidence))).toEqual([]);
  });

  it('each group of rows names the page that explains it', () => {
    const groups = new Set([...MACHINE_ROWS, ...WORLD_ROWS].map(({ path }) => path.split('.')[0]));
    const pages = [
      ...PARAMETER_GROUPS.map(({ title, notes }) => [title, notes] as const),
      ...[...groups].map((group) => [group, PAGES_OF_GROUPS[group]] as const),
    ];
    for (const [group, page] of pages) expect(evidence.notes.has(page ?? ''), `page of ${group}`).toBe(true);
  });
});

describe('an omission is told with the name of its row', () => {
  const subject: Subject = {
    kind: 'parameter',
    name: 'made_ms',
    words: ['made_ms', 'PARAMETER_MADE_MS'],
    use: { place: 'firmware/control', there: wordsOf('D.made_ticks = wholeTicks(P.made_ms);'), words: ['P.made_ms'] },
    drawn: { said: { to: [0, 1], decimals: 0 } },
    pages: ['page.md'],
  };
  const whole: Evidence = { tested: new Set(['made_ms']), notes: new Map([['page.md', '| `made_ms` | ms |']]) };

  it('and nothing is told of a row that has all', () => {
    expect(missing(subject, whole)).toEqual([]);
    expect(missing({ ...subject, drawn: { said: 'it is measured once' } }, whole)).toEqual([]);
    expect(missing(subject, { ...whole, tested: new Set(['PARAMETER_MADE_MS']) })).toEqual([]);
  });

  it.each([
    ['the test', subject, { ...whole, tested: new Set(['made']) }, 'no test and no requirement names it'],
    [
      'the use',
      { ...subject, use: { ...subject.use!, there: wordsOf('P.made_ms_2') } },
      whole,
      'nothing in firmware/control uses it',
    ],
    ['the range', { ...subject, drawn: { said: undefined } }, whole, 'says neither what a campaign draws'],
    ['the sentence', { ...subject, drawn: { said: 'no' } }, whole, 'says neither what a campaign draws'],
    ['the place', subject, { ...whole, notes: new Map([['page.md', '`made`']]) }, 'no place in the notes (page.md)'],
  ])('%s', (_, planted, read, complaint) => {
    const found = missing(planted, read);
    expect(found).toHaveLength(1);
    expect(found[0]).toContain(`parameter made_ms: `);
    expect(found[0]).toContain(complaint);
  });
});

// A tuning in words and tables; apart from tune.ts, which runs it, and would be too long with it.
import { CAUSES, type Difference, type TuneNeighbour, type Tuning } from '../../campaign/index.js';
import { counted, fixed, type TerminalStyle } from '../../views/text/index.js';
import { shellWords } from '../base/command-line.js';
import { type GivenInput, inputWords } from '../base/inputs.js';
import { Page } from '../base/page.js';
import { short } from './map-text.js';

/** What the tuning was asked with and goes into the commands that follow from it. */
export interface TuneRequest extends GivenInput {
  /** What was cut, for a person. */
  readonly name: string;
  readonly seed: number;
  /** The command line as it was given, from `tune` on. */
  readonly args: readonly string[];
  /** Where the proposal was to be written. */
  readonly write: string | undefined;
}

/** Of a comparison: short for a table, in a sentence, decimals, and the factor to what is printed. */
const FIGURES = [
  ['error_mm', 'error, mm', 'standoff error', 3, 1],
  ['least_standoff_mm', 'least, mm', 'least standoff', 3, 1],
  ['finished', 'finish, %', 'cuts that finish', 0, 100],
] as const;
const LACKS: Readonly<Record<NonNullable<TuneNeighbour['lacks']>, string>> = {
  limit: 'the box takes no such value',
  refused: 'it contradicts another parameter',
  broken: 'a requirement is broken',
  stops: 'more cuts are stopped',
  error: 'the standoff is held more than a quarter worse',
  goals: 'the quality goals are met no more',
};

/** The tuning as a page. */
export function tuneText(tuning: Tuning, request: TuneRequest, style: TerminalStyle): string {
  const page = new Page(style);
  const { present, points, search_cuts, conclusion } = tuning;
  page
    .heading(`Tuning with ${request.name}, seed ${request.seed}`)
    .say(
      `${counted(points, 'set')} of values tried on the same ${search_cuts} cuts; what follows is of ${present.cuts} others, the same ` +
        'for all values. In each the world disagrees with the box in another way.',
    );
  page.raw(['']);
  valueTable(page, tuning);
  page.raw(['']);
  figureTable(page, tuning);
  page.heading(conclusion === 'proposed' ? 'Proposed' : 'No values are proposed');
  for (const sentence of conclusionSentences(tuning)) page.say(sentence);
  page.heading('What else would help');
  for (const sentence of causeSentences(tuning)) page.say(sentence);
  page.heading('Next');
  for (const sentence of nextSentences(tuning, request)) page.say(sentence);
  page.quiet('This speaks of the ranges that were drawn from, on this model; nothing else.');
  return page.text();
}

function valueTable(page: Page, { parameters, neighbours }: Tuning): void {
  const rows = parameters.map(({ name, unit, present, found }) => {
    const beside = neighbours.filter((one) => one.name === name);
    const cell = ({ value, lacks }: TuneNeighbour) => `${short(value)} ${lacks === null ? 'room' : 'no room'}`;
    const [low = '', high = ''] = beside.map(cell);
    return [`${name} ${unit}`.trimEnd(), short(present), short(found), low, high];
  });
  page.table(
    {
      titles: ['parameter', 'now', 'found', 'below', 'above'],
      sides: ['left', 'right', 'right', 'right', 'right'],
    },
    rows,
  );
}

function figureTable(page: Page, { comparison, present, found }: Tuning): void {
  const rows = FIGURES.map(([name, words, , decimals, times]) => {
    const one = comparison[name];
    if (one === null) return [words, '-', '-', '-', 'too few'];
    const number = (value: number) => fixed(times * value, decimals);
    return [words, number(one.before), number(one.after), `${number(one.low)} to ${number(one.high)}`, one.verdict];
  });
  const of = (count: number, { cuts }: { readonly cuts: number }) => `${count} of ${cuts}`;
  const broken = ({ broken: list }: Tuning['present']) => new Set(list.map(({ cut }) => cut)).size;
  rows.push(
    ['goals met', of(present.goals_met, present), of(found.goals_met, found), '', ''],
    ['broken', of(broken(present), present), of(broken(found), found), '', ''],
  );
  page.table(
    { titles: ['', 'now', 'found', 'difference', ''], sides: ['left', 'right', 'right', 'right', 'left'] },
    rows,
  );
  page.quiet(
    'Error: rms of the standoff error in the worst contour; least: least standoff while the arc burns; each the mean of the worst ' +
      'quarter of the cuts that finish with both. Goals: the quality goals for following; broken: cuts with a broken requirement. ' +
      'Difference: interval over these pairs, the three together with 95 % confidence; chance: it does not leave out 0, or the two ' +
      'sides exchanged by lot give as large a difference too often.',
  );
}

const assignments = ({ parameters }: Tuning): string[] =>
  parameters.filter(({ present, found }) => found !== present).map(({ name, found }) => `${name}=${found}`);

/** Why values are proposed, or none. */
function conclusionSentences(tuning: Tuning): string[] {
  const { conclusion, comparison, neighbours, found, points } = tuning;
  const named = (verdict: Difference['verdict']) =>
    FIGURES.filter(([name]) => comparison[name]?.verdict === verdict)
      .map(([, , words]) => words)
      .join(' and ');
  switch (conclusion) {
    case 'proposed':
      return [
        `${assignments(tuning).join(', ')}: better beyond chance in ${named('better')}, nothing worse beyond chance, no requirement broken.`,
        `Room on every side: each value a fifth lower or a quarter higher holds the standoff at most ${ratioText(neighbours)} times as badly, and breaks nothing.`,
        ...(2 * found.goals_met < found.cuts
          ? ['They do not meet the quality goals for following in half of these cuts either: gains alone do not.']
          : []),
      ];
    case 'nothing-better':
      return [
        `Of ${points} sets of values none was better than the present one on these cuts: nothing shows that gains or limits would help.`,
      ];
    case 'chance':
      return [
        'There is no difference beyond chance between the present values and the best that were found: these cuts do not show that gains or limits would help.',
      ];
    case 'worse':
      return [`The best that were found are worse in ${named('worse')} on other cuts.`];
    case 'no-room':
      return neighbours.flatMap(({ name, value, lacks }) =>
        lacks === null ? [] : [`The best that were found have no room: with ${name} ${short(value)} ${LACKS[lacks]}.`],
      );
    case 'few-finished':
      return [
        `Too few cuts finish with both to compare anything: of ${found.cuts} with the best that were found ${found.finished} (stopped: ${stopsText(found)}). Give more --cuts, or mend what stops them.`,
      ];
    default:
      return [
        `A requirement is broken with the best that were found: ${[...new Set(found.broken.map(({ requirement }) => requirement))].join(', ')}, ` +
          `in ${counted(new Set(found.broken.map(({ cut }) => cut)).size, 'cut')} of ${found.cuts}.`,
      ];
  }
}

const ratioText = (neighbours: readonly TuneNeighbour[]): string =>
  fixed(Math.max(1, ...neighbours.map(({ ratio }) => ratio ?? 1)), 2);

const stopsText = ({ stops }: Tuning['found']): string =>
  Object.entries(stops)
    .sort(([, a], [, b]) => b - a)
    .map(([cause, count]) => `${cause} ${count}`)
    .join(', ');

/** What the cuts gain without a cause that gains cannot mend, the largest first. */
function causeSentences({ causes, present, found, conclusion }: Tuning): string[] {
  const helping = causes
    .filter(({ comparison }) => [comparison.error_mm, comparison.finished].some((one) => one?.verdict === 'better'))
    .sort((a, b) => shareOf(a.comparison.error_mm) - shareOf(b.comparison.error_mm));
  const stopped = conclusion === 'proposed' ? found : present;
  return [
    ...(stopped.finished < stopped.cuts
      ? [`${stopped.cuts - stopped.finished} of ${stopped.cuts} cuts were stopped: ${stopsText(stopped)}.`]
      : []),
    ...helping.map(({ name, comparison }) => {
      const { without, remedy } = CAUSES.find((cause) => cause.name === name)!;
      const gains = FIGURES.flatMap(([figure, , words, decimals, times]) => {
        const one = comparison[figure];
        if (one?.verdict !== 'better') return [];
        return [
          `${words} ${fixed(times * one.after, decimals)} instead of ${fixed(times * one.before, decimals)}${times === 100 ? ' %' : ' mm'}`,
        ];
      });
      return `With ${without}: ${gains.join(', ')}. To do: ${remedy}.`;
    }),
    ...(helping.length === 0
      ? [
          `Of ${counted(causes.length, 'cause')} none, taken out of the worlds alone, makes a difference beyond chance: ${namesOf(causes)}.`,
          ...largestSentence(causes),
        ]
      : [
          `The other causes tried make no difference beyond chance: ${namesOf(causes.filter((one) => !helping.includes(one)))}.`,
        ]),
  ];
}

const namesOf = (causes: Tuning['causes']): string => causes.map(({ name }) => name).join(', ');

/** The cause that costs most of those that may be chance: where to look with more cuts. */
function largestSentence(causes: Tuning['causes']): string[] {
  const [first] = causes.toSorted((a, b) => shareOf(a.comparison.error_mm) - shareOf(b.comparison.error_mm));
  const error = first?.comparison.error_mm;
  if (!error || error.after >= error.before) return [];
  const [before, after] = [fixed(error.before, 3), fixed(error.after, 3)];
  return [
    `The largest of them, by chance or not: ${first.name}, ${after} mm of standoff error without it instead of ${before}. More --cuts decide.`,
  ];
}

const shareOf = (one: Difference | null): number => (one === null ? 1 : one.after / one.before);

/** What to type next. */
function nextSentences(tuning: Tuning, request: TuneRequest): string[] {
  const words = inputWords(request);
  const set = assignments(tuning).flatMap((word) => ['--set', word]);
  if (tuning.conclusion !== 'proposed') {
    return [
      ...(request.write === undefined ? [] : [`${request.write} was not written: there is no proposal.`]),
      tuning.conclusion === 'broken'
        ? `What breaks a requirement: standoff fuzz ${shellWords([...words, ...set, '--cases', 'found'])}`
        : `Worlds that are known better than the default ranges say more: standoff ${shellWords([...request.args, '--range', 'world.arc.slope_V_per_mm=3:5'])}`,
    ];
  }
  return [
    `See it: standoff simulate ${shellWords([...inputWords({ ...request, range: [] }), ...set])}`,
    `Try it with faults and operators: standoff fuzz ${shellWords([...words, ...set])}`,
    request.write === undefined
      ? `Into a new setup file: standoff ${shellWords([...request.args, '--write', 'better.yaml'])}`
      : `${request.write} is the setup with these values.`,
  ];
}

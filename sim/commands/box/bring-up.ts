import { existsSync } from 'node:fs';
import { Command, Option } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { type Identity, type Line, openLine, readImage } from '../../link/index.js';
import {
  type Bench,
  type BringUpRecord,
  boardOf,
  bringUpSteps,
  type Deed,
  EmulatedBench,
  isDone,
  newRecord,
  noteLines,
  readRecord,
  type Step,
  type StepResult,
  wireWords,
  withStep,
} from '../../run/bring-up/index.js';
import { terminalStyle } from '../../views/text/index.js';
import { EXIT, withSignals } from '../base/command-line.js';
import { checkEnding, readBytes, readText, replaceFile, shippedFile } from '../base/files.js';
import { Person } from '../base/person.js';
import { type Say, sayer } from '../base/say.js';
import { PORT_WORDS } from './port.js';

/** What somebody types who has looked. */
const WORD = 'BARE';

const CONFIRM = [
  'Some steps want jumpers at the board, and the cable pulled. Two of them raise the outputs for Z and the motion permit: on a wired box Z would move and the table would be let go. The trigger is never raised.',
  'Before them: 24 V is absent, nothing is wired to the board but its USB cable, and the board lies on something that does not conduct.',
  'The voltages of an open plasma arc kill: neither supply, torch nor table is near this. Local electrical code and licensed practice come first.',
];

export const bringUpCommand = () =>
  new Command('bring-up')
    .description(
      'Proves a real board, alone on the desk with its cable and some jumpers, step by step, and keeps a dated record of what ' +
        'was tried and found. With --emulated all of it runs on an emulated board: shorter, and it shows nothing of silicon.',
    )
    .addOption(new Option('--port <address>', PORT_WORDS).conflicts('emulated'))
    .option('--emulated', 'on an emulated board, with somebody emulated to set the jumpers')
    .option(
      '--record <file>',
      'where the record goes, .json (default: bring-up-DATE-BOARD.json); one that exists is not written over',
    )
    .option('--resume', 'go on with the record, and leave out what passed')
    .option('--only <step>', 'this step alone')
    .option(
      '--count <n>',
      'how much of each step, in its own unit: less than the full count is recorded as that',
      (text) => Number(text),
    )
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nThe record is written after each step, so that Ctrl-C loses one step at most.' +
        '\nExit status: 0 every step passed or could not be tried, 1 a step failed, 2 refused, 4 ended with q, 130 ended with Ctrl-C.',
    );

type BringUpOptions = ReturnType<ReturnType<typeof bringUpCommand>['opts']>;

/** Runs the steps. @returns the exit status @throws StandoffError for bad input, a record that exists, a box that is not there */
export async function bringUp(options: BringUpOptions): Promise<number> {
  const image_file = shippedFile('standoff.image');
  const image = readBytes(image_file, 'image');
  const steps = chosen(
    bringUpSteps(() => readImage(image, image_file)),
    options,
  );
  if (options.record !== undefined) checkEnding(`--record ${options.record}`, options.record, ['.json']);
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const say = sayer(style);
  const person = new Person();
  try {
    return await withSignals(async (signal) => {
      const emulated = options.emulated
        ? await EmulatedBench.start({ loader: readBytes(shippedFile('loader.bin'), 'loader'), image })
        : undefined;
      const bench = emulated ?? new PersonBench(portIn(options), person, say, signal);
      // Whatever waits is not waited for: the record has every step that has ended.
      const broken_off = new Promise<'interrupted'>((resolve) =>
        signal.addEventListener('abort', () => resolve('interrupted')),
      );
      try {
        const ended = await Promise.race([broken_off, walk(bench, steps, options, person, say)]);
        return ended === 'interrupted' ? EXIT.interrupted : ended;
      } finally {
        await emulated?.close();
      }
    });
  } finally {
    person.close();
  }
}

function chosen(steps: readonly Step[], { only, count }: BringUpOptions): readonly Step[] {
  if (count !== undefined && !(Number.isInteger(count) && count >= 1 && count <= 1e8)) {
    throw new StandoffError(
      'option-range',
      '--count is no whole number from 1 to 100000000',
      'give one, or leave it out',
    );
  }
  const found = steps.filter(({ name }) => only === undefined || name === only);
  if (found.length > 0) return found;
  const names = steps.map(({ name }) => name).join(', ');
  throw new StandoffError('answer-choice', `there is no step ${only}`, `give one of ${names}`);
}

function portIn({ port }: BringUpOptions): string {
  if (port !== undefined) return port;
  throw new StandoffError(
    'port-address',
    'no port was named',
    'give --port, or --emulated; standoff ports lists the ports',
  );
}

async function walk(
  bench: Bench,
  steps: readonly Step[],
  options: BringUpOptions,
  person: Person,
  say: Say,
): Promise<number> {
  say(bench.kind === 'emulated' ? 'An emulated board: this shows nothing of silicon.' : `Asking ${bench.address} ...`);
  const { identity, board } = await boardOf(bench);
  const file = options.record ?? `bring-up-${new Date().toISOString().slice(0, 10)}-${nameIn(board)}.json`;
  let record = recordIn(file, options.resume === true, bench, board, identity);
  say(`record: ${file}`);
  const todo = steps.filter((step) => !isDone(record, step.name, countOf(step, bench, options)));
  if (todo.length < steps.length) say(`${steps.length - todo.length} steps have passed already.`);
  if (todo.some(({ hands }) => hands) && bench.kind === 'board') {
    for (const sentence of CONFIRM) say(sentence);
    say(`Type ${WORD} if that is so; anything else ends this, and nothing was done.`);
    if ((await person.line()) !== WORD) return EXIT.unfinished;
  }
  for (const [at, step] of todo.entries()) {
    const count = countOf(step, bench, options);
    say(`[${at + 1} of ${todo.length}] ${step.name}: ${step.title}; ${count} ${step.unit}`);
    const result = await resultOf(step, bench, count, say);
    if (result === undefined) return EXIT.unfinished;
    record = withStep(record, step.name, { ...result, count, unit: step.unit, ended: new Date().toISOString() });
    replaceFile(file, `${JSON.stringify(record, undefined, 2)}\n`);
    say(`${result.verdict.toUpperCase()}: ${result.words}.`, 4);
  }
  for (const line of noteLines(record)) say(line);
  const machine = Object.values(record.steps).flatMap((step) => Object.entries(step.machine ?? {}));
  if (machine.length > 0)
    say(`for the section machine of a setup: ${machine.map(([path, value]) => `${path}: ${value}`).join(', ')}`);
  return Object.values(record.steps).some(({ verdict }) => verdict === 'failed') ? EXIT.broken : EXIT.kept;
}

const countOf = (step: Step, bench: Bench, { count }: BringUpOptions): number => count ?? step.counts[bench.kind];

const nameIn = (board: string): string => board.replace(/[^\w-]+/g, '-').replace(/^-+|-+$/g, '');

/** @throws StandoffError `file-exists`, `record-…` */
function recordIn(
  file: string,
  resume: boolean,
  bench: Bench,
  board: string,
  { image_sha256 }: Identity,
): BringUpRecord {
  const here = { on: bench.kind, board, way: bench.way, image_sha256 };
  if (!existsSync(file)) return newRecord(here, new Date());
  if (resume) return readRecord(readText(file, 'record'), file, here);
  throw new StandoffError(
    'file-exists',
    `${file} exists`,
    'give --resume to go on with it, or another name with --record',
  );
}

/** A step that cannot be carried through has failed, with what stood in its way. @returns undefined when the person ended it */
async function resultOf(step: Step, bench: Bench, count: number, say: Say): Promise<StepResult | undefined> {
  try {
    return await step.run({ bench, count, tell: (sentence) => say(sentence, 4) });
  } catch (error) {
    if (!(error instanceof StandoffError)) throw error;
    if (error.code === 'answer-choice') return undefined; // q
    return { verdict: 'failed', words: `${error.what}: ${error.remedy}`, figures: { code: error.code } };
  }
}

/** A real board at a port, and a person beside it. */
class PersonBench implements Bench {
  readonly kind = 'board';
  readonly patience_ms = 120_000;
  way: Bench['way'] = 'serial';

  constructor(
    readonly address: string,
    private readonly person: Person,
    private readonly say: Say,
    private readonly signal: AbortSignal,
  ) {}

  async open(): Promise<Line> {
    const line = await openLine(this.address);
    this.way = line.of_the_box ? 'usb' : 'serial';
    return line;
  }

  now_ms(): number {
    return performance.now();
  }

  pause(ms: number): Promise<void> {
    return new Promise((resolve) => setTimeout(resolve, ms));
  }

  async deed(deed: Deed): Promise<boolean> {
    // Whoever waits sees the cable go.
    if (deed.kind === 'cable') return true;
    const { wires } = deed;
    this.say(wires.length === 0 ? 'All jumpers off.' : `All other jumpers off; ${wires.map(wireWords).join('; ')}.`, 4);
    this.say('Enter when that is done, s to leave this step out, q to end.', 4);
    const answer = (await this.person.line())?.toLowerCase();
    if (this.signal.aborted || answer === undefined || answer === 'q') {
      throw new StandoffError('answer-choice', 'ended by the person', 'go on with --resume');
    }
    return answer !== 's';
  }
}

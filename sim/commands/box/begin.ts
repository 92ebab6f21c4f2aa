import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { type Identity, identityLine, refuseUnusable, type Session } from '../../link/index.js';
import { BOOT_MARK, type FoundBox, findBox, isBootDrive, writeToDrive } from '../../run/begin/index.js';
import { cutLeg, type LockstepResult } from '../../run/box/index.js';
import { type ControlModule, loadControlModule } from '../../run/controller/index.js';
import { type TerminalStyle, terminalStyle } from '../../views/text/index.js';
import { EXIT, wholeNumber, withSignals } from '../base/command-line.js';
import { readBytes, shippedFile } from '../base/files.js';
import { DEFAULT_SEED } from '../base/inputs.js';
import { Person } from '../base/person.js';
import { ProgressDisplay } from '../base/progress.js';
import { type Say, sayer } from '../base/say.js';
import { compared, resultWords } from './lockstep.js';
import { baudOption, PORT_WORDS, withBoxAt, withDeskWhole } from './port.js';

const DEFAULT_TICKS = 5000;
const UF2_NAME = 'standoff.uf2';

export const beginCommand = () =>
  new Command('begin')
    .description(
      'Leads from a bare board and a USB cable to a box that is proved in lockstep, one step at a time. It looks at the board ' +
        'to see how far it is, so that it can be broken off anywhere and begun again. Nothing but the cable is connected.',
    )
    .option('--port <address>', `look for the box here: ${PORT_WORDS} (default: the box on USB, whatever its port)`)
    .option('--drive <folder>', 'write the firmware file to this drive, without asking')
    .option('--ticks <n>', 'ticks to compare in lockstep', wholeNumber(1, 10_000_000), DEFAULT_TICKS)
    .addOption(baudOption())
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nIt opens no port but that of a box, and writes over no file.' +
        '\nExit status: 0 all steps done, 1 box and desk differ, 2 refused, 4 ended with q, 130 ended with Ctrl-C.',
    );

type BeginOptions = ReturnType<ReturnType<typeof beginCommand>['opts']>;

/** Leads through the first steps with a board. @returns the exit status @throws StandoffError `box-…`, `port-address` */
export async function begin(options: BeginOptions): Promise<number> {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const person = new Person();
  try {
    return await withSignals(async (signal) => {
      const ended = await new FirstSteps(options, style, person, signal).walk();
      return signal.aborted ? EXIT.interrupted : ended;
    });
  } finally {
    person.close();
  }
}

const TITLES = ['boot drive', 'firmware file', 'port', 'who answers', 'lockstep', 'what to wire next'] as const;

/** How long a first look takes before a person is asked to do something, ms. */
const FIRST_LOOK_ms = 1500;
/** How often a wait is said again, ms. */
const STILL_ms = 20_000;

const HOLD_BUTTON = [
  'Nothing is connected to the board: no wire, no 24 V. Plug its USB cable out.',
  'Hold down the button of the board (mostly marked BOOT or BOOTSEL), plug the cable in, let the button go: a drive appears.',
];

/** Pages, in the order in which a box is wired. */
const NEXT = [
  ['the isolated serial adapter, or an isolator for USB', 'first-ten-minutes.md'],
  ['the halved reference, REFERENCE: without it the converter counts as dead', 'parts.md'],
  ['key, stop chain and breakaway: these permit something, so they come first', 'stops.md'],
  ['the other inputs, one by one, beside standoff watch', 'pins.gen.md'],
  ['outputs without an arc, then the firing circuit without a supply', 'commissioning.md'],
] as const;

type Ended = number | undefined;

/** The steps, with what was found so far. Each gives an exit status where it ends the command. */
class FirstSteps {
  private readonly module: ControlModule = loadControlModule();
  private readonly display: ProgressDisplay;
  private readonly say: Say;
  private found: FoundBox | undefined;

  constructor(
    private readonly options: BeginOptions,
    private readonly style: TerminalStyle,
    private readonly person: Person,
    private readonly signal: AbortSignal,
  ) {
    this.display = new ProgressDisplay(process.stdout, style);
    this.say = sayer(style);
  }

  async walk(): Promise<number> {
    const { port } = this.options;
    this.say(`Looking for ${port === undefined ? 'a box on USB' : `a box at ${port}`} ...`);
    const looking = new AbortController();
    this.signal.addEventListener('abort', () => looking.abort());
    const finding = this.look(looking.signal);
    try {
      this.found = await Promise.race([finding, after(FIRST_LOOK_ms)]);
      const ended = this.found ? this.already() : await this.fetchFirmware(finding);
      if (ended !== undefined || this.signal.aborted) return ended ?? EXIT.interrupted;
      this.found ??= await this.waitForPort(finding);
    } finally {
      looking.abort();
      // What it found wrong was thrown above, or nobody waits for it any more.
      await finding.catch(() => {});
    }
    if (this.found === undefined) return EXIT.interrupted;
    this.done(3, `${this.found.address} answers.`);
    this.identify(this.found.identity);
    return (await this.compare(this.found.address)) ?? this.wireNext(this.found.address);
  }

  private look(signal: AbortSignal): Promise<FoundBox | undefined> {
    return findBox({ address: this.options.port, signal, tell: (sentence) => this.say(sentence) });
  }

  /** The board has been here before. */
  private already(): undefined {
    for (const number of [1, 2]) this.done(number, 'not needed: the board has the firmware.');
  }

  /** Steps 1 and 2: the file comes to the board, by this command or by hand. */
  private async fetchFirmware(finding: Promise<FoundBox | undefined>): Promise<Ended> {
    const file = shippedFile(UF2_NAME);
    const bytes = readBytes(file, 'firmware file');
    this.title(1);
    for (const sentence of HOLD_BUTTON) this.say(sentence);
    this.title(2);
    this.say(`The file: ${file}`);
    if (this.options.drive !== undefined) {
      this.copied(writeToDrive(this.options.drive, UF2_NAME, bytes));
      return undefined;
    }
    this.say('Type the path of the drive, and the file is written to it; or copy it yourself. q ends.');
    this.say('Waiting for a path, or for the port of the board ...');
    let doubted = '';
    for (;;) {
      const answer = await Promise.race([this.person.line(), finding.then((found) => ({ found }))]);
      if (typeof answer === 'object') {
        this.found = answer.found;
        if (answer.found) this.copied('');
        return undefined;
      }
      // Nobody is there to answer: the file is copied by hand, or not at all.
      if (answer === undefined) return undefined;
      if (answer.toLowerCase() === 'q') return EXIT.unfinished;
      if (answer === '') continue;
      if (!isBootDrive(answer) && answer !== doubted) {
        doubted = answer;
        this.say(
          `${answer} has no ${BOOT_MARK}, as a boot drive has. Type it again if it is the drive all the same, or another path.`,
        );
        continue;
      }
      try {
        this.copied(writeToDrive(answer, UF2_NAME, bytes));
        return undefined;
      } catch (error) {
        if (!(error instanceof StandoffError)) throw error;
        this.say(`${error.what}: ${error.remedy}. Type a path, or copy the file yourself.`);
      }
    }
  }

  private copied(path: string): void {
    this.done(1, 'the drive came.');
    this.done(2, path === '' ? 'copied by hand.' : `written: ${path}`);
  }

  /** Step 3. */
  private async waitForPort(finding: Promise<FoundBox | undefined>): Promise<FoundBox | undefined> {
    this.title(3);
    const { port } = this.options;
    const what = port === undefined ? 'a port with a serial number SNDF-...' : port;
    this.say(`The drive goes away by itself, and the board starts. Waiting for ${what} ...`);
    const timer = setInterval(() => {
      this.say(
        `Still waiting for ${what}. Was the whole file copied? If not: begin again with the button; Ctrl-C ends.`,
      );
    }, STILL_ms);
    try {
      return await finding;
    } finally {
      clearInterval(timer);
    }
  }

  /** Step 4. @throws StandoffError for a box that this Standoff cannot go on with */
  private identify(identity: Identity): void {
    const { sha256 } = this.module;
    this.say(identityLine(identity, sha256));
    refuseUnusable(identity);
    if (identity.module_sha256 !== sha256) {
      const what = 'the box has another control module than the one on the desk';
      throw new StandoffError(
        'box-version',
        what,
        `standoff flash --port ${this.found!.address}, then standoff begin again`,
      );
    }
    this.done(4, 'the box runs the module of this desk.');
  }

  /** Step 5: in the desk state, as a board without wires stands in a fault. */
  private async compare(address: string): Promise<Ended> {
    this.title(5);
    this.say(
      `The module in the box against the one on the desk, ${this.options.ticks} ticks; its outputs rest meanwhile.`,
    );
    const result = await withBoxAt(address, (session) =>
      withDeskWhole(
        session,
        (text) => this.say(text),
        () => this.lockstep(session),
      ),
    );
    if (result === undefined || this.signal.aborted) return EXIT.interrupted;
    if (result.difference !== undefined) return EXIT.broken;
    this.done(5, `${result.ticks} ticks the same, byte for byte.`);
    return undefined;
  }

  private async lockstep(session: Session): Promise<LockstepResult | undefined> {
    const { ticks, baud } = this.options;
    const found = await compared(session, baud, this.display, this.style.live, (signal, onProgress) => ({
      ticks,
      leg: (index) => cutLeg(this.module, DEFAULT_SEED + index),
      signal,
      onProgress,
    }));
    if (found === undefined || found.interrupted) return undefined;
    this.say(resultWords(found, 'a simulated cut', DEFAULT_SEED, found.baud));
    return found;
  }

  /** Step 6. */
  private wireNext(address: string): number {
    this.title(6);
    this.say('A bare USB cable ties the zero of the box to the earth of this computer: it is for the desk only.');
    for (const [at, [what, page]] of NEXT.entries()) this.say(`${at + 1}. ${what} (hardware-notes/${page})`, 5);
    this.say(`next: standoff box --port ${address}`);
    this.say('The voltages of an open plasma arc kill. Local electrical code and licensed practice come first.');
    return EXIT.kept;
  }

  private title(number: number): void {
    this.say(`Step ${number} of ${TITLES.length}: ${TITLES[number - 1]}`);
  }

  private done(number: number, what: string): void {
    this.say(`[done] ${number} of ${TITLES.length}  ${TITLES[number - 1]}: ${what}`);
  }
}

const after = (ms: number): Promise<undefined> => new Promise((resolve) => setTimeout(resolve, ms, undefined));

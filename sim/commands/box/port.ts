import { InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import { INPUT_KEY } from '../../../firmware/wire/layout.gen.js';
import { StandoffError } from '../../base/index.js';
import {
  type BoxState,
  chipWords,
  endDesk,
  type Identity,
  moduleWords,
  NO_SLOT,
  originWords,
  portFollower,
  readState,
  type Session,
  type Slot,
  slotWords,
  startedWords,
  startWords,
  stateWords,
  withBox,
  withDesk,
} from '../../link/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { clockText, fixed } from '../../views/text/index.js';
import { withSignals } from '../base/command-line.js';

export const PORT_WORDS =
  'serial port such as /dev/ttyUSB0 or COM3, serial number of a box on USB such as SNDF-E6605838, tcp://host:port, or usb://host:port of an emulated box';

/** `--port`, the same in every command that talks to a box. */
export const portOption = () => new Option('--port <address>', PORT_WORDS).argParser(addressOf).makeOptionMandatory();

function addressOf(text: string): string {
  if (text.trim() !== '') return text;
  throw new InvalidArgumentError(`It is empty: give a ${PORT_WORDS}; standoff ports lists the ports.`);
}

/** Speed that today's adapters reach; the telemetry of every tick fits. */
export const DEFAULT_BAUD = 921_600;
const LEAST_BAUD = 9600;
const MOST_BAUD = 2_000_000;

function baudOf(text: string): number {
  const baud = Number(text);
  if (/^\d+$/.test(text) && baud >= LEAST_BAUD && baud <= MOST_BAUD) return baud;
  throw new InvalidArgumentError(`Give a whole number from ${LEAST_BAUD} to ${MOST_BAUD}.`);
}

/** ` at 921600 bit/s`, or nothing where the way has no speed. */
export const speedWords = (baud: number | undefined): string => (baud === undefined ? '' : ` at ${baud} bit/s`);

/** `--baud`: the speed to try; box and adapter must both take it. */
export const baudOption = () =>
  new Option('--baud <n>', 'speed of a serial line to try, bit/s; USB has none')
    .argParser(baudOf)
    .default(DEFAULT_BAUD);

/** SHA-256 of the control module on the desk. */
export const deskModule = (): string => loadControlModule().sha256;

/** Says on the side that a port is silent so far. */
export const stillAsking = (address: string) => () =>
  void process.stderr.write(`No answer from ${address} yet; asking on ...\n`);

/** Refusals that where the box stands explains. */
const STANDING: readonly string[] = ['box-key', 'box-busy', 'box-voltage'];

/** Whether it is a refusal that where the box stands explains, and does not say so yet. */
const isExplained = (error: unknown): error is StandoffError =>
  error instanceof StandoffError && STANDING.includes(error.code) && !error.what.includes('it stands ');

/** The command as it was typed, for a person who is to type it again. */
function commandText(words: readonly string[] = process.argv.slice(2)): string {
  return ['standoff', ...words.map((word) => (/^[\w./:=,+-]+$/.test(word) ? word : `'${word}'`))].join(' ');
}

/** What to do first, and the command that goes on then. */
function nextWords(state: BoxState, remedy: string, port: string): string {
  const faulted = state.fault !== 0 && state.desk === 0;
  const again = `then again: ${commandText()}`;
  if ((state.digital_inputs & INPUT_KEY) === 0) return faulted ? `standoff box desk --port ${port}, ${again}` : remedy;
  if (!faulted) return `turn the arm key off, ${again}`;
  return `turn the arm key off, ${again} (it passes over the fault ${FAULT_ROWS[state.fault]?.name} in the desk state)`;
}

/**
 * A refusal with everything that stands in the way, not only what the box asked first: the key and the fault.
 * @param port for the next command
 * @returns the error itself where the box has nothing to add, or no longer answers
 */
async function explained(error: unknown, session: Session, port: string): Promise<unknown> {
  if (!isExplained(error) || session.lost !== '') return error;
  const state = await readState(session).catch(() => undefined);
  if (state === undefined) return error;
  return new StandoffError(
    error.code,
    `${error.what}; it stands ${stateWords(state)}`,
    nextWords(state, error.remedy, port),
  );
}

/** `withBox`, for a person who is told when the port is silent. @throws StandoffError `port-…`, `link-…`, `box-…` */
export function withBoxAt<T>(address: string, work: (session: Session, identity: Identity) => Promise<T>): Promise<T> {
  const explaining = async (session: Session, identity: Identity) => {
    try {
      return await work(session, identity);
    } catch (error) {
      throw await explained(error, session, address);
    }
  };
  return withBox(address, explaining, undefined, stillAsking(address), followPort());
}

/** The key was turned while the loader has the box: it stays there until somebody restarts it, or for 10 s. */
const inLoader = ({ code, what }: StandoffError) =>
  new StandoffError(
    code,
    `${what}; its loader runs now, with every output at rest, the latched stop too, and the image that the box had is whole`,
    `turn the arm key off, then again: ${commandText()}`,
  );

/** A refusal of work that has closed its own session: the box is asked once more. @returns the error to throw */
export async function explainedAt(error: unknown, address: string): Promise<unknown> {
  if (!isExplained(error)) return error;
  const ask = async (session: Session, { in_loader }: Identity) =>
    in_loader ? inLoader(error) : explained(error, session, address);
  return withBox(address, ask).catch(() => error);
}

/** Opens the port of a box again under whatever name it has then, and says so on the side. */
export const followPort = (say: (text: string) => void = onTheSide) =>
  portFollower(({ serial, from, to }) => say(`The box ${serial} has come back as ${to}; it was ${from}.`));

const onTheSide = (text: string) => void process.stderr.write(`${text}\n`);

/** Sentences, each wrapped by whoever prints them. */
type Say = (sentences: readonly string[]) => void;

/** Brings the box into the desk state and leaves it there. @throws StandoffError `box-…` */
export async function enterDesk(session: Session, port: string, say: Say): Promise<void> {
  await session.ask('desk-begin');
  const state = await readState(session);
  say([
    `The box stands ${state ? stateWords(state) : 'in the desk state'}.`,
    'Parameters, lockstep and flash are refused for nothing but the arm key now; parameters count after the restart.',
    `next: standoff box restart --port ${port}`,
  ]);
}

/** `withDesk`, which Ctrl-C does not tear apart: the box does not stay in the desk state without a word. */
export const withDeskWhole: typeof withDesk = (session, say, work) => withSignals(() => withDesk(session, say, work));

/** Ends the desk state. @throws StandoffError `box-not-begun`, `box-desk`, `box-key` */
export async function leaveDesk(session: Session, say: Say): Promise<void> {
  const before = await readState(session);
  if (before?.desk !== 1) {
    const what = `the box is not in the desk state${before ? `: it stands ${stateWords(before)}` : ''}`;
    throw new StandoffError('box-not-begun', what, 'switch it off and on instead, or standoff box desk first');
  }
  say([startedWords(await endDesk(session), before.fault)]);
}

/** When a commit counts: at once, or in a desk state that somebody keeps only after its end. */
export async function countsWhen(session: Session): Promise<string> {
  const state = await readState(session);
  return state?.desk === 1
    ? 'Kept through power-off; in use after the restart that ends the desk state'
    : 'In use now, and kept through power-off';
}

/** What a box says about itself, as names and values. */
export function identityEntries(
  identity: Identity,
  desk_sha256: string,
  slots: readonly Slot[] | undefined,
): (readonly [string, string])[] {
  const { in_loader, slot, generation, version, module_sha256, tick, parameter_generation } = identity;
  const place = slot === NO_SLOT ? 'nothing: no slot holds a valid image' : `slot ${slot}, generation ${generation}`;
  const entries: (readonly [string, string])[] = [
    ['answers', `the ${in_loader ? 'loader' : 'box'}, version ${version}`],
    [in_loader ? 'would run' : 'runs', place],
    ['module', moduleWords(module_sha256, desk_sha256)],
    ...chipWords(identity).map((words) => ['chip', words] as const),
    ['started', `${clockText(tick / 1000)} ago: ${startWords(identity)}`],
  ];
  if (identity.fault_before !== 0) {
    const row = FAULT_ROWS[identity.fault_before];
    entries.push(['fault before', row ? `${row.name}: ${row.meaning}` : `${identity.fault_before}`]);
  }
  for (const each of slots ?? []) entries.push([`slot ${each.slot}`, slotWords(each)]);
  if (in_loader) return entries;
  const running = slots?.find(({ runs }) => runs);
  const kept = parametersWords(parameter_generation, running?.origin);
  const worst_percent = (100 * identity.worst_tick_cycles) / identity.cycles_per_ms;
  const worst = `${fixed(worst_percent, 1)} % of a millisecond`;
  return [...entries, ['parameters', kept], ['longest tick', worst]];
}

/** Which parameters are in use. @param origin of the running slot, if it is known */
function parametersWords(generation: number, origin: string | undefined): string {
  if (origin === 'withheld') return originWords(origin);
  if (generation === 0) return 'the defaults, none kept';
  return `kept, generation ${generation}${origin === 'older' ? `, ${originWords(origin)}` : ''}`;
}

/** Names and values, one pair per line. */
export function entryLines(entries: readonly (readonly [string, string])[]): string[] {
  const width = Math.max(...entries.map(([name]) => name.length));
  return entries.map(([name, value]) => `${name.padEnd(width)}  ${value}`);
}

import { existsSync, rmSync } from 'node:fs';
import { Argument, Command } from '@commander-js/extra-typings';
import { PARAMETER_ROWS, type ParameterRow, type ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import {
  type BoxEvent,
  chipWarnings,
  deskStillWords,
  eventText,
  type Identity,
  leaveLoader,
  readRing,
  readSlots,
  readState,
  refuseUnusable,
  type Session,
  startedByFault,
  stateWords,
  withheldWords,
  writeParameters,
  writeTrim,
} from '../../link/index.js';
import { type Change, changesBetween, readBox, writeChanges } from '../../run/box/index.js';
import {
  assignBox,
  type Box,
  boxWarnings,
  quantityAt,
  ROWS_BY_PATH,
  readSetup,
  sameInBox,
  setupWarnings,
  updateBox,
  writeBox,
} from '../../run/setup/index.js';
import { f32Text } from '../../run/trace/index.js';
import {
  type Alignment,
  asciiText,
  type TerminalStyle,
  tableLines,
  terminalStyle,
  wrapText,
} from '../../views/text/index.js';
import { EXIT } from '../base/command-line.js';
import { keepDated, readText, replaceFile } from '../base/files.js';
import {
  countsWhen,
  deskModule,
  enterDesk,
  entryLines,
  identityEntries,
  leaveDesk,
  portOption,
  withBoxAt,
  withDeskWhole,
} from './port.js';

const unitOf = ({ unit }: ParameterRow): string => (unit === '1' ? '' : unit);
const withUnit = (row: ParameterRow, value: number): string => `${f32Text(value)} ${unitOf(row)}`.trimEnd();

/** Every parameter with its unit, and with its default where it differs. */
export function parameterLines(box: ParameterValues, width: number): string[] {
  const rows = PARAMETER_ROWS.filter(({ name }) => box[name] !== undefined).map((row) => {
    const value = box[row.name]!;
    const note = sameInBox(value, row.default) ? '' : `default ${f32Text(row.default)}`;
    return [row.name, f32Text(value), unitOf(row), note];
  });
  return fittedTable(rows, ['left', 'right', 'left', 'left'], width);
}

/** `pierce_ms  500 → 400 ms`, one line each. */
export function changeLines(changes: readonly Change[], width: number): string[] {
  const rows = changes.map(({ row, before, after }) => [row.name, f32Text(before), '→', withUnit(row, after)]);
  return fittedTable(rows, ['left', 'right', 'left', 'left'], width);
}

/** A table without a head; where that is too wide, one entry per line with single spaces. */
function fittedTable(rows: readonly (readonly string[])[], sides: readonly Alignment[], width: number): string[] {
  if (rows.length === 0) return [];
  const table = tableLines(rows[0], rows.slice(1), sides, width);
  return table ?? rows.map((row) => row.filter((cell) => cell !== '').join(' '));
}

const TIME_COLUMNS = 12;

/** Events in their order, with a heading for each start of the box. @param width of a line, to which the text is wrapped */
export function eventLines(events: readonly BoxEvent[], width: number): string[] {
  const lines: string[] = [];
  let start = -1;
  for (const event of events) {
    if (event.start !== start) {
      start = event.start;
      lines.push(`start ${start} of the box`);
    }
    const time = `${(event.tick / 1000).toFixed(3)} s`.padStart(TIME_COLUMNS);
    const [first = '', ...rest] = wrapText(eventText(event), Math.max(20, width - TIME_COLUMNS - 2));
    lines.push(`${time}  ${first}`, ...rest.map((line) => ' '.repeat(TIME_COLUMNS + 2) + line));
  }
  return lines;
}

/**
 * Prepares to write a box's parameters into a setup file; what prevents it is found before a port is opened.
 * @returns writes them, and says what it did
 * @throws StandoffError `output-name`, `file-exists`, and what is wrong with a file that is no setup file
 */
function saveBox(file: string, force: boolean): (box: ParameterValues) => string[] {
  if (!/\.ya?ml$/.test(file)) {
    const what = `${file} has no ending that tells its format`;
    throw new StandoffError('output-name', what, 'give a name that ends in .yaml or .yml');
  }
  if (!existsSync(file)) {
    return (box) => {
      replaceFile(file, updateBox(undefined, file, box));
      return [`Every parameter of the box is in ${file}.`];
    };
  }
  if (!force) {
    const remedy = 'choose another name, or give --force: it changes the section box and leaves the rest as it is';
    throw new StandoffError('file-exists', `${file} exists`, remedy);
  }
  const before = readText(file, 'setup');
  if (before.trim() !== '') readSetup(before, file);
  return (box) => {
    const after = updateBox(before, file, box);
    if (after === before) return [`${file} has these values already; it is unchanged.`];
    replaceFile(file, after);
    return [`The section box of ${file} now has what the box holds; the rest is as it was.`];
  };
}

/** What `standoff box` can do. */
const BOX_ACTIONS = ['show', 'events', 'set', 'trim', 'load', 'save', 'desk', 'restart'] as const;
type BoxAction = (typeof BOX_ACTIONS)[number];

export const boxCommand = () =>
  new Command('box')
    .description(
      'Shows what a box is and holds, sets parameters, or exchanges them with the section box of a setup file. ' +
        'Parameters change only with the arm key off and no cut under way; a box in a fault is brought into the desk ' +
        'state, with its outputs at rest, and started again. The trim alone changes at any time, and is kept through ' +
        'power-off only if the key is off. desk brings the box into the desk state, restart ends it.',
    )
    .addArgument(new Argument('[action]', 'what to do').choices(BOX_ACTIONS).default('show' as const))
    .argument('[values...]', 'set: NAME=VALUE, such as pierce_ms=400; trim: volts; load, save: a setup file')
    .addOption(portOption())
    .option('--json', 'print identity and parameters, or the events, as JSON and nothing else (show, events)')
    .option('--force', 'save: change the section box of a file that exists; the rest of it stays')
    .option('--plain', 'ASCII only, without colour');

type BoxOptions = ReturnType<ReturnType<typeof boxCommand>['opts']>;

/**
 * Shows a box or sets its parameters.
 * @returns the exit status
 * @throws StandoffError for bad input, before the port is opened; with the box's reason when it refuses
 */
export async function box(action: BoxAction, values: readonly string[], options: BoxOptions): Promise<number> {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const work = workFor(action, values, options, style);
  await withBoxAt(options.port, async (session, first) => {
    const identity = await leaveLoader(session, first);
    if (action !== 'show') refuseUnusable(identity);
    await work(session, identity);
  });
  return EXIT.kept;
}

/** Prints lines as they are. */
type Put = (lines: readonly string[]) => void;
type Work = (session: Session, identity: Identity) => Promise<void>;

/** Finds what is wrong with the command line before anything is opened. */
function workFor(action: BoxAction, values: readonly string[], options: BoxOptions, style: TerminalStyle): Work {
  const put = (lines: readonly string[]) => {
    const text = lines.map((line) => `${line}\n`).join('');
    process.stdout.write(style.unicode ? text : asciiText(text));
  };
  const say = (sentences: readonly string[]) => put(sentences.flatMap((text) => wrapText(text, style.columns, 2)));
  switch (action) {
    case 'show':
      wantValues(action, values, 0);
      return (session, identity) => show(session, identity, options, put, say, style);
    case 'events':
      wantValues(action, values, 0);
      return async (session) => {
        const events = (await readRing(session, 'events-read')) as unknown as readonly BoxEvent[];
        if (options.json) print({ format: 'standoff events 1', events });
        else if (events.length === 0) say(['The box has no events.']);
        else put(eventLines(events, style.columns));
      };
    case 'set':
      if (values.length === 0) throw missing('set', 'a parameter', 'write NAME=VALUE, such as pierce_ms=400');
      return (session) => change(session, (now) => assignBox(now, values), put, say, style);
    case 'desk':
      wantValues(action, values, 0);
      return (session) => enterDesk(session, options.port, say);
    case 'restart':
      wantValues(action, values, 0);
      return (session) => leaveDesk(session, say);
    case 'trim': {
      if (values.length === 0) throw missing('trim', 'volts', 'write trim 0.5');
      wantValues(action, values.slice(1), 0);
      const trim_V = quantityAt(`box trim ${values[0]}`, ROWS_BY_PATH.get('box.trim_V')!, values[0]!);
      return async (session) => say(await trim(session, trim_V));
    }
    case 'load': {
      const file = wantValues(action, values, 1);
      const setup = readSetup(readText(file, 'setup'), file);
      return async (session) => {
        await change(session, () => setup.box, put, say, style);
        say(setupWarnings(setup).map((warning) => `note: ${warning}`));
      };
    }
    case 'save': {
      const file = wantValues(action, values, 1);
      const save = saveBox(file, options.force === true);
      return async (session) => {
        const held = await readBox(session);
        say([...save(held), ...boxWarnings(held)]);
      };
    }
  }
}

/** @returns the value, if there is to be one */
function wantValues(action: string, values: readonly string[], count: 0 | 1): string {
  if (values.length === count) return values[0] ?? '';
  if (count === 1 && values.length === 0)
    throw missing(action, 'the name of a setup file', `write ${action} my-table.yaml`);
  const what = `box ${action} does not take ${values.slice(count).join(' ')}`;
  throw new StandoffError('box-values', what, 'take it out');
}

const missing = (action: string, what: string, remedy: string) =>
  new StandoffError('box-values', `box ${action} wants ${what}`, remedy);

const print = (value: object) => process.stdout.write(`${JSON.stringify(value, undefined, 2)}\n`);

async function show(
  session: Session,
  identity: Identity,
  options: BoxOptions,
  put: Put,
  say: Put,
  style: TerminalStyle,
): Promise<void> {
  const desk_module_sha256 = deskModule();
  const parameters = identity.in_loader ? undefined : await readBox(session);
  const state = identity.in_loader ? undefined : await readState(session);
  const slots = await readSlots(session);
  const withheld = withheldWords(slots?.find(({ runs }) => runs));
  const warnings = [
    ...(withheld === undefined ? [] : [withheld]),
    ...chipWarnings(identity),
    ...boxWarnings(parameters ?? {}),
  ];
  if (options.json) {
    print({
      format: 'standoff box 1',
      identity,
      desk_module_sha256,
      state: state ?? null,
      slots: slots ?? null,
      parameters: parameters ?? null,
      warnings,
    });
    return;
  }
  const stands = state ? [['stands', stateWords(state)] as const] : [];
  const entries = [...identityEntries(identity, desk_module_sha256, slots), ...stands];
  const lines = [`box at ${options.port}`, ...entryLines(entries)];
  if (startedByFault(identity)) {
    lines.push('', `What went before this start: standoff box events --port ${options.port}`);
  }
  if (parameters) lines.push('', ...parameterLines(parameters, style.columns));
  put(lines);
  say(warnings);
}

/** Shows what will change, then lets the box check all of it together, use it and keep it. */
async function change(
  session: Session,
  wanted: (now: ParameterValues) => Box,
  put: Put,
  say: Put,
  style: TerminalStyle,
): Promise<void> {
  const now = await readBox(session);
  const changes = changesBetween(now, wanted(now));
  const due = changes.length > 0 ? changes : await keptForThis(session, now);
  if (due.length === 0) {
    put(['Nothing changes: the box holds these values already.']);
    if ((await readState(session))?.desk) say([deskStillWords(session)]);
    return;
  }
  if (changes.length > 0) put(changeLines(changes, style.columns));
  else say(['No value changes; all of them are kept for the image that runs.']);
  // Before the first value goes out: a box that is cut off in the middle can be brought back.
  const old = keepDated('box-before', writeBox(now));
  const kept = `The values until now are in ${old}; back to them: standoff box load ${old}`;
  let written = false;
  const write = async () => {
    const generation = await writeChanges(session, due);
    written = true;
    put([kept]);
    say([`${await countsWhen(session)}: generation ${generation}.`]);
  };
  try {
    await withDeskWhole(session, (text) => say([text]), write);
  } catch (error) {
    if (!written && isRefusal(error)) rmSync(old);
    else if (!written) put([kept]);
    throw error;
  }
}

/** What a commit needs that changes nothing, where the box wants to be told what this image is to run with; else nothing. */
async function keptForThis(session: Session, now: ParameterValues): Promise<Change[]> {
  const running = (await readSlots(session))?.find(({ runs }) => runs);
  if (withheldWords(running) === undefined) return [];
  const row = PARAMETER_ROWS.find(({ name }) => now[name] !== undefined);
  return row === undefined ? [] : [{ row, before: now[row.name]!, after: now[row.name]! }];
}

/** The box has changed nothing. Where its flash failed, or the link, nobody knows. */
const isRefusal = (error: unknown): boolean =>
  error instanceof StandoffError && error.code.startsWith('box-') && error.code !== 'box-flash';

/** Why a trim that is in force is not kept. */
const NOT_KEPT_NOW: readonly string[] = ['box-key', 'box-busy', 'box-voltage'];

/** Changes the trim at once, and keeps it if parameters may be changed now. @returns what came of it, in sentences */
async function trim(session: Session, trim_V: number): Promise<string[]> {
  const in_force_V = await writeTrim(session, trim_V);
  const bounded = sameInBox(in_force_V, trim_V)
    ? []
    : [`${f32Text(trim_V)} V would bring the torch below the least standoff.`];
  const said = [`In force: trim ${f32Text(in_force_V)} V. The target is led there at 2 V/s.`, ...bounded];
  try {
    const generation = await writeParameters(session, { trim_V: in_force_V });
    return [...said, `Kept through power-off: generation ${generation}.`];
  } catch (error) {
    if (!(error instanceof StandoffError) || !NOT_KEPT_NOW.includes(error.code)) throw error;
    const why = error.what.replace(/^.*: /, '');
    return [...said, `Lost at power-off: ${why}. With the key off and at rest the same command keeps it.`];
  }
}

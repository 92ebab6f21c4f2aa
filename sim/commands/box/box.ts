import type { ParameterValues } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../../base/index.js';
import { type Identity, readParameters, readRing, type Session, writeParameters } from '../../link/index.js';
import { assignBox, type Box, boxWarnings, readSetup, setupWarnings } from '../../run/setup/index.js';
import { type TerminalStyle, terminalStyle } from '../../views/terminal/index.js';
import { asciiText, wrapText } from '../../views/terminal/text.js';
import { EXIT } from '../base/exit.js';
import { readText } from '../base/files.js';
import type { BoxAction, BoxOptions } from './box-options.js';
import { saveBox } from './box-save.js';
import { type BoxEvent, eventLines } from './event-text.js';
import { entryLines, identityEntries, startedByFault } from './identity-text.js';
import { changeLines, changesBetween, parameterLines, tidyF32 } from './parameter-text.js';
import { deskModule, leaveLoader, refuseLoader, withBox } from './port.js';

/**
 * Shows a box or sets its parameters.
 * @returns the exit status
 * @throws StandoffError for bad input, before the port is opened; with the box's reason when it refuses
 */
export async function box(action: BoxAction, values: readonly string[], options: BoxOptions): Promise<number> {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const work = workFor(action, values, options, style);
  await withBox(options.port, async (session, first) => {
    const identity = await leaveLoader(session, first);
    if (action !== 'show') refuseLoader(identity);
    await work(session, identity);
  });
  return EXIT.kept;
}

/** Prints lines as they are. */
type Put = (lines: readonly string[]) => void;
type Work = (session: Session, identity: Identity) => Promise<void>;

/** What is wrong with the command line is found here, before anything is opened. */
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
        else if (events.length === 0) say(['The box remembers no events.']);
        else put(eventLines(events, style.columns));
      };
    case 'set':
      if (values.length === 0) throw missing('set', 'a parameter', 'write NAME=VALUE, such as pierce_ms=400');
      return (session) => change(session, (now) => assignBox(now, values), put, style);
    case 'load': {
      const file = wantValues(action, values, 1);
      const setup = readSetup(readText(file, 'setup'), file);
      return async (session) => {
        await change(session, () => setup.box, put, style);
        say(setupWarnings(setup).map((warning) => `note: ${warning}`));
      };
    }
    case 'save': {
      const file = wantValues(action, values, 1);
      const save = saveBox(file, options.force === true);
      return async (session) => {
        const held = tidy(await readParameters(session));
        say([...save(held), ...boxWarnings(held)]);
      };
    }
  }
}

/** @returns the one value, if one is wanted */
function wantValues(action: string, values: readonly string[], count: 0 | 1): string {
  if (values.length === count) return values[0] ?? '';
  if (count === 1 && values.length === 0)
    throw missing(action, 'the name of a setup file', `write ${action} my-table.yaml`);
  const what = `box ${action} does not know what to do with ${values.slice(count).join(' ')}`;
  throw new StandoffError('box-values', what, 'take it out');
}

const missing = (action: string, what: string, remedy: string) =>
  new StandoffError('box-values', `box ${action} wants ${what}`, remedy);

const tidy = (parameters: ParameterValues): ParameterValues =>
  Object.fromEntries(Object.entries(parameters).map(([name, value]) => [name, tidyF32(value)]));

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
  const parameters = identity.in_loader ? undefined : tidy(await readParameters(session));
  const warnings = boxWarnings(parameters ?? {});
  if (options.json) {
    print({ format: 'standoff box 1', identity, desk_module_sha256, parameters: parameters ?? null, warnings });
    return;
  }
  const lines = [`box at ${options.port}`, ...entryLines(identityEntries(identity, desk_module_sha256))];
  if (startedByFault(identity)) {
    lines.push('', `What went before this start: standoff box events --port ${options.port}`);
  }
  if (parameters) lines.push('', ...parameterLines(parameters, style.columns));
  put(lines);
  say(warnings);
}

/** Shows what would change, then lets the box check all of it together, take it into use and keep it. */
async function change(
  session: Session,
  wanted: (now: ParameterValues) => Box,
  put: Put,
  style: TerminalStyle,
): Promise<void> {
  const now = tidy(await readParameters(session));
  const changes = changesBetween(now, wanted(now));
  if (changes.length === 0) return put(['Nothing changes: the box holds these values already.']);
  put(changeLines(changes, style.columns));
  const generation = await writeParameters(
    session,
    Object.fromEntries(changes.map(({ row, after }) => [row.name, after])),
  );
  put([`In use now, and kept through power-off: generation ${generation}.`]);
}

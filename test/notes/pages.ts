/** What every page of hardware-notes is held to, as functions of text: a page in, complaints out. */
export interface Page {
  /** From the folder of the notes. */
  readonly name: string;
  readonly text: string;
}

/** What the notes may name. */
export interface Known {
  /** Parameters, rows, pins, faults, refusals, modes, events, constants: anything that a page puts between backticks. */
  readonly names: ReadonlySet<string>;
  /** Words after `standoff`. */
  readonly commands: ReadonlySet<string>;
  /** Options of these commands, with their dashes. */
  readonly options: ReadonlySet<string>;
  /** Scripts of the package. */
  readonly scripts: ReadonlySet<string>;
  /** True when this path from the project's root is there. */
  readonly isFile: (path: string) => boolean;
}

/** Words between backticks that name nothing outside their own page. */
const OF_THE_PAGES = ['names', 'made:', 'end', 'NOTES=write', 'reading_'];

const lineOf = (text: string, index: number): number => text.slice(0, index).split('\n').length;

/** Links whose page, picture or place does not exist. Pages of the world outside are left alone. */
export function linkErrors({ name, text }: Page, isPage: (page: string) => boolean): string[] {
  return [...text.matchAll(/\]\(([^)\s]+)\)/g)].flatMap(({ 1: target, index }) => {
    if (/^https?:/.test(target)) return [];
    const page = target.split('#')[0];
    return isPage(page) ? [] : [`${name}:${lineOf(text, index)}: no page ${page}`];
  });
}

function commandErrors(words: readonly string[], known: Known): string[] {
  const [, command, ...rest] = words;
  if (!known.commands.has(command)) return [`no command standoff ${command}`];
  const options = rest.filter((word) => word.startsWith('--'));
  return options.filter((option) => !known.options.has(option)).map((option) => `no option ${option}`);
}

function tokenErrors(token: string, known: Known): string[] {
  if (OF_THE_PAGES.includes(token) || known.names.has(token)) return [];
  if (token.startsWith('standoff ')) return commandErrors(token.split(/\s+/), known);
  if (token.startsWith('--')) return commandErrors(['standoff', 'simulate', ...token.split(/\s+/)], known);
  const script = /^npm (?:run )?(\S+)/.exec(token)?.[1];
  if (script !== undefined) return known.scripts.has(script) ? [] : [`no script ${script}`];
  if (token.includes('/')) return known.isFile(token) ? [] : [`no file ${token}`];
  return [`nothing is called ${token}`];
}

/** Names between backticks, and words with an underscore anywhere, that nothing in the project has. */
export function nameErrors({ name, text }: Page, known: Known): string[] {
  const quoted = [...text.matchAll(/`([^`]+)`/g)].flatMap(({ 1: token, index }) =>
    tokenErrors(token.replace(/\s+/g, ' '), known).map((what) => `${name}:${lineOf(text, index)}: ${what}`),
  );
  const bare = text.replace(/`[^`]+`/g, (token) => ' '.repeat(token.length));
  const underscored = [...bare.matchAll(/\b[A-Za-z]\w*_\w*[A-Za-z0-9]\b/g)].flatMap(({ 0: word, index }) =>
    known.names.has(word) ? [] : [`${name}:${lineOf(bare, index)}: nothing is called ${word}`],
  );
  return [...quoted, ...underscored];
}

const HIGH_VOLTAGE = /\b(?:arc|mains|no-load|electrode|contactor|firing|high voltage|supply)\b/i;
const CAUTIONS: readonly (readonly [string, RegExp])[] = [
  ['that arc voltages kill', /voltages of an open plasma arc kill/i],
  ['to prove a circuit dead', /prove \S+( \S+)? dead/i],
  [
    'that the meter is proved before and after',
    /meter that was proved .*before and after|meter proved before and after/i,
  ],
  ['local electrical code', /local electrical code/i],
  ['licensed practice', /licensed practice/i],
  ['that it is no instruction to open a supply', /(?:not|nothing here is) an instruction to open a supply/i],
];
/** The cautions begin at most here. */
const TOP_LINES = 6;

/** A page that speaks of high voltage says the cautions in a quotation at its top. */
export function cautionErrors({ name, text }: Page): string[] {
  if (!HIGH_VOLTAGE.test(text)) return [];
  const lines = text.split('\n');
  const first = lines.slice(0, TOP_LINES).findIndex((line) => line.startsWith('> '));
  if (first < 0) return [`${name}: no cautions at its top`];
  const length = lines.slice(first).findIndex((line) => !line.startsWith('>'));
  const quotation = lines
    .slice(first, first + length)
    .map((line) => line.replace(/^>\s*/, ''))
    .join(' ');
  return CAUTIONS.filter(([, pattern]) => !pattern.test(quotation)).map(([what]) => `${name}: does not say ${what}`);
}

/** The word that no page may use of anything. Put together here, so that a search for it finds no text. */
const PROMISE = new RegExp(`\\b${'sa'}${'fe'}(?:ly|ty|r)?\\b`, 'i');
export function promiseErrors({ name, text }: Page): string[] {
  const found = PROMISE.exec(text);
  return found ? [`${name}:${lineOf(text, found.index)}: promises: ${found[0]}`] : [];
}

const MOST_LINES = 250;
export function lengthErrors({ name, text }: Page): string[] {
  const lines = text.split('\n').length - 1;
  return lines > MOST_LINES ? [`${name}: ${lines} lines, at most ${MOST_LINES}`] : [];
}

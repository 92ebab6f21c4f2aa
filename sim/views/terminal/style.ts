/** How text and pictures may be drawn. */
export interface DrawStyle {
  /** Line characters and braille dots; false: bytes below 128 only. */
  readonly unicode: boolean;
  /** Colour escapes; every colour stands beside a word or a mark that says the same. */
  readonly colour: boolean;
}

export interface TerminalStyle extends DrawStyle {
  /** A person looks at this stream and it can be redrawn. */
  readonly live: boolean;
  /** Columns to use: COLUMNS, else the terminal's own, else 80; never below 20. */
  readonly columns: number;
}

/** The part of an output stream that decides how to draw on it. */
export interface StreamTraits {
  readonly isTTY?: boolean | undefined;
  readonly columns?: number | undefined;
}

export type Environment = Readonly<Record<string, string | undefined>>;

const DEFAULT_COLUMNS = 80;
const LEAST_COLUMNS = 20;

/**
 * What a stream can show.
 *
 * - live: a terminal, not `TERM=dumb`, and no `CI`.
 * - colour: a terminal that is not dumb, and no `NO_COLOR` (no-color.org: any non-empty value).
 * - unicode: the first that is set of LC_ALL, LC_CTYPE and LANG (POSIX order) names UTF-8. The console of
 *   Linux itself (`TERM=linux`) has no braille in its font, so it gets ASCII.
 *
 * @param plain the user asked for plain ASCII: neither unicode nor colour.
 */
export function terminalStyle(env: Environment, stream: StreamTraits, plain = false): TerminalStyle {
  const terminal = stream.isTTY === true && env.TERM !== 'dumb';
  const locale = env.LC_ALL || env.LC_CTYPE || env.LANG || '';
  return {
    live: terminal && !env.CI,
    colour: terminal && !env.NO_COLOR && !plain,
    unicode: /utf-?8/i.test(locale) && env.TERM !== 'linux' && env.TERM !== 'dumb' && !plain,
    columns: Math.max(LEAST_COLUMNS, wholeNumber(env.COLUMNS) ?? wholeNumber(stream.columns) ?? DEFAULT_COLUMNS),
  };
}

function wholeNumber(value: string | number | undefined): number | undefined {
  const number = Number(value);
  return Number.isInteger(number) && number > 0 ? number : undefined;
}

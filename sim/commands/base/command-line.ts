import { InvalidArgumentError } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import type { RunVerdict } from '../../judge/index.js';

/** What the exit status says, of every command. Scripts depend on these; they never change. */
export const EXIT = {
  /** Finished, and every requirement was kept; what was asked for is done. */
  kept: 0,
  /** A requirement was broken; box and desk differ, or the box runs another image than the one written. */
  broken: 1,
  /** The input is bad, or the box refuses or is not there; nothing was run. */
  badInput: 2,
  /** A mistake in this program. */
  internal: 3,
  /** A run did not come to its end: box or operator stopped it, it took far too long, or q ended it. */
  unfinished: 4,
  /** Nothing speaks against it, but what matters is not known: an answer is missing. */
  unknown: 5,
  /** Broken off by Ctrl-C, as shells count it: 128 and the number of the signal. */
  interrupted: 130,
} as const;

const RUN_STATUS = { finished: EXIT.kept, stopped: EXIT.unfinished, broken: EXIT.broken } as const;

/** What came of a run. A broken requirement counts for more than an end that was not reached. */
export const runStatus = ({ word }: Pick<RunVerdict, 'word'>): number => RUN_STATUS[word];

/** What to print for an error, and the exit status: what was wrong on one line, what to do on the next. */
export function describeError(error: unknown): { readonly text: string; readonly status: number } {
  if (error instanceof StandoffError) {
    return { text: `standoff: ${error.what}\n  ${error.remedy}\n`, status: EXIT.badInput };
  }
  const detail = error instanceof Error ? (error.stack ?? error.message) : String(error);
  return { text: `standoff: this is a mistake in Standoff, please report it\n${detail}\n`, status: EXIT.internal };
}

/** Ctrl-C, the end of the terminal, and a polite kill. */
export const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/** Runs something that these signals ask to end, however often they come. */
export async function withSignals<T>(work: (signal: AbortSignal) => Promise<T>): Promise<T> {
  const controller = new AbortController();
  const onSignal = () => controller.abort();
  for (const signal of SIGNALS) process.on(signal, onSignal);
  try {
    return await work(controller.signal);
  } finally {
    for (const signal of SIGNALS) process.off(signal, onSignal);
  }
}

/**
 * Runs something that Ctrl-C ends in good order. What it throws after that counts as its end.
 * @returns undefined when it was broken off
 */
export async function interruptible<T>(work: (signal: AbortSignal) => Promise<T>): Promise<T | undefined> {
  return withSignals(async (signal) => {
    try {
      return await work(signal);
    } catch (error) {
      if (signal.aborted) return undefined;
      throw error;
    }
  });
}

/** Told the exit status of the command that ran. */
export type Ended = (status: number) => void;

/** A command line without some options and their values, such as those that would write over a file. */
export const withoutOptions = (args: readonly string[], names: readonly string[]): string[] =>
  args.filter(
    (word, at) =>
      !names.some((name) => word === name || word.startsWith(`${name}=`)) && !names.includes(args[at - 1] ?? ''),
  );

/**
 * Words as they have to be typed so that a shell gives them back: quoted where they need it, by double quotes, which every
 * shell knows, unless something in them would not survive there.
 */
export const shellWords = (words: readonly string[]): string =>
  words
    .map((word) => {
      if (/^[\w@+=:,./\\-]+$/.test(word) && !(word.includes('\\') && process.platform !== 'win32')) return word;
      return /["$`\\!%]/.test(word) && process.platform !== 'win32'
        ? `'${word.replaceAll("'", "'\\''")}'`
        : `"${word}"`;
    })
    .join(' ');

/** For an option that may be repeated. */
export const collect = (word: string, before: readonly string[] = []): readonly string[] => [...before, word];

/** For an option whose value is a whole number within these, both included. */
export const wholeNumber = (least: number, most: number) => (text: string) => {
  const number = Number(text);
  if (/^\d+$/.test(text) && number >= least && number <= most) return number;
  throw new InvalidArgumentError(`Give a whole number from ${least} to ${most}.`);
};

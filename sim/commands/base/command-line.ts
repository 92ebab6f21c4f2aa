import { InvalidArgumentError } from '@commander-js/extra-typings';
import { GREATEST_SEED } from '../../run/setup/index.js';

/** A command line without some options and their values, such as those that would write over a file. */
export const withoutOptions = (args: readonly string[], names: readonly string[]): string[] =>
  args.filter(
    (word, at) =>
      !names.some((name) => word === name || word.startsWith(`${name}=`)) && !names.includes(args[at - 1] ?? ''),
  );

/** Words as they have to be typed so that a shell gives them back: quoted where they need it. */
export const shellWords = (words: readonly string[]): string =>
  words.map((word) => (/^[\w@%+=:,./-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`)).join(' ');

/** For an option that may be repeated. */
export const collect = (word: string, before: readonly string[] = []): readonly string[] => [...before, word];

/** For an option whose value is a whole number within these, both included. */
export const wholeNumber = (least: number, most: number) => (text: string) => {
  const number = Number(text);
  if (/^\d+$/.test(text) && number >= least && number <= most) return number;
  throw new InvalidArgumentError(`Give a whole number from ${least} to ${most}.`);
};

/** For an option whose value is a seed. */
export const seedOf = wholeNumber(0, GREATEST_SEED);

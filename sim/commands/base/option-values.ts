import { InvalidArgumentError } from '@commander-js/extra-typings';

/** For an option that may be repeated. */
export const collect = (word: string, before: readonly string[] = []): readonly string[] => [...before, word];

/** For an option whose value is a whole number within these, both included. */
export const wholeNumber = (least: number, most: number) => (text: string) => {
  const number = Number(text);
  if (/^\d+$/.test(text) && number >= least && number <= most) return number;
  throw new InvalidArgumentError(`Give a whole number from ${least} to ${most}.`);
};

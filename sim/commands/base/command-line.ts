/** A command line without some options and their values, such as those that would write over a file. */
export const withoutOptions = (args: readonly string[], names: readonly string[]): string[] =>
  args.filter(
    (word, at) =>
      !names.some((name) => word === name || word.startsWith(`${name}=`)) && !names.includes(args[at - 1] ?? ''),
  );

/** Words as they have to be typed so that a shell gives them back: quoted where they need it. */
export const shellWords = (words: readonly string[]): string =>
  words.map((word) => (/^[\w@%+=:,./-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`)).join(' ');

/** Words as they have to be typed so that a shell gives them back: quoted where they need it. */
export const shellWords = (words: readonly string[]): string =>
  words.map((word) => (/^[\w@%+=:,./-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`)).join(' ');

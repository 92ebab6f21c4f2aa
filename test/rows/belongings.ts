/** What belongs to a row besides itself, as functions of text: a row and what was read in, complaints out. */
export interface Subject {
  /** What kind of row it is, as it is called in a complaint. */
  readonly kind: string;
  readonly name: string;
  /** Words by any of which code and tests may call it: its name, its constant, its field. */
  readonly words: readonly string[];
  /** Where a use of it must stand, such as the control module: the words there, and those to look for. */
  readonly use?: { readonly place: string; readonly there: ReadonlySet<string>; readonly words: readonly string[] };
  /** What a campaign draws, or the sentence why not; absent for what cannot be drawn. */
  readonly drawn?: { readonly said: object | string | undefined };
  /** Pages of the notes of which one must name it. */
  readonly pages: readonly string[];
}

export interface Evidence {
  /** The words of all tests and of all requirements. */
  readonly tested: ReadonlySet<string>;
  /** Pages of hardware-notes by their names. */
  readonly notes: ReadonlyMap<string, string>;
}

/**
 * Words as rows are called: letters, digits, `_`, and `-` and `.` between them; parts of dotted words as well. What stands
 * in quotation marks counts with them too: a name such as `key` says something only there.
 */
export function wordsOf(text: string): Set<string> {
  const words = new Set<string>();
  for (const [word] of text.matchAll(/[A-Za-z]\w*(?:[-.]\w+)*/g)) {
    words.add(word);
    for (const part of word.split('.')) words.add(part);
  }
  for (const [quoted] of text.matchAll(/'[A-Za-z][\w-]*'/g)) words.add(quoted);
  return words;
}

const SENTENCE = /\w+ \w+ \w+/;

/** What is missing of a row, each complaint with its name and what to do. */
export function missing({ kind, name, words, use, drawn, pages }: Subject, { tested, notes }: Evidence): string[] {
  const found: string[] = [];
  const what = `${kind} ${name}`;
  if (!words.some((word) => tested.has(word))) found.push(`${what}: no test and no requirement names it`);
  if (use && !use.words.some((word) => use.there.has(word))) found.push(`${what}: nothing in ${use.place} uses it`);
  if (drawn !== undefined) {
    const { said } = drawn;
    const good = typeof said === 'object' || (typeof said === 'string' && SENTENCE.test(said));
    if (!good) found.push(`${what}: says neither what a campaign draws of it nor, in a sentence, why nothing is drawn`);
  }
  const naming = pages.filter((page) => notes.get(page)?.includes(`\`${name}\``));
  if (naming.length === 0) found.push(`${what}: has no place in the notes (${pages.join(', ')})`);
  return found;
}

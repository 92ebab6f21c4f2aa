/** A planted defect of the control module: one text of one file, replaced by another. */
export interface Mutant {
  /** Lower-case words joined by hyphens. */
  readonly name: string;
  /** File in `firmware/control`, such as `guard.ts`. */
  readonly file: string;
  /** Occurs in that file exactly once. */
  readonly search: string;
  readonly replacement: string;
  /** What is wrong with the box now. */
  readonly plants: string;
}

/** name, search text, replacement, what it plants. */
type Bare = readonly [string, string, string, string];

export const mutantsOf = (file: string, ...rows: readonly Bare[]): readonly Mutant[] =>
  rows.map(([name, search, replacement, plants]) => ({ name, file, search, replacement, plants }));

/**
 * The source with the defect planted.
 * @throws when the search text does not occur exactly once
 */
export function planted(source: string, { name, file, search, replacement }: Mutant): string {
  const parts = source.split(search);
  if (parts.length === 2) return parts.join(replacement);
  const what = `${name}: firmware/control/${file} has ${parts.length - 1} times: ${search}`;
  throw new Error(`${what}; give the row a text that occurs exactly once, or take it away with what it was about`);
}

import type { Mutant } from './mutant.js';

/** What caught a planted defect. */
export type Caught =
  | { readonly by: 'requirement'; readonly name: string; readonly scenario: string }
  | { readonly by: 'test'; readonly name: string };

/** What became of one mutant. */
export interface Verdict {
  readonly index: number;
  /** null: it survived. */
  readonly caught: Caught | null;
  readonly build_s: number;
  readonly judge_s: number;
}

const NAME_WIDTH = 28;

export function caughtText(caught: Caught | null): string {
  if (caught === null) return 'SURVIVED';
  return caught.by === 'requirement' ? `requirement ${caught.name} in ${caught.scenario}` : `test ${caught.name}`;
}

/** One line of the table: seconds, name, what caught it. */
export function line({ name }: Mutant, { caught, build_s, judge_s }: Verdict): string {
  return `${(build_s + judge_s).toFixed(1).padStart(5)} s  ${name.padEnd(NAME_WIDTH)}  ${caughtText(caught)}`;
}

/** What the run says as a whole; the names of those that survived last. */
export function summaryText(mutants: readonly Mutant[], verdicts: readonly Verdict[], total_s: number): string {
  const by = (kind: Caught['by']) => verdicts.filter(({ caught }) => caught?.by === kind).length;
  const survived = verdicts.filter(({ caught }) => caught === null).map(({ index }) => mutants[index]);
  const counts = `${verdicts.length} planted defects: ${by('requirement')} caught by a requirement, ${by('test')} by a test`;
  return [
    `${counts}, ${survived.length} survived; ${total_s.toFixed(0)} s`,
    ...survived.map(({ name, file, plants }) => `survived: ${name} (${file}): ${plants}`),
  ].join('\n');
}

/** The same for a program to read. */
export function json(
  mutants: readonly Mutant[],
  verdicts: readonly Verdict[],
  module_sha256: string,
  total_s: number,
): string {
  const rows = verdicts.map(({ index, caught, build_s, judge_s }) => {
    const { name, file, plants } = mutants[index];
    return { name, file, plants, caught, build_s, judge_s };
  });
  return JSON.stringify({ module_sha256, total_s, mutants: rows }, null, 2);
}

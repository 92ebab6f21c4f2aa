import type { Mutant } from './mutant.js';

/** What caught a planted defect. */
export type Caught =
  | { readonly by: 'requirement' | 'goal'; readonly name: string; readonly scenario: string }
  | { readonly by: 'test'; readonly name: string }
  /** It does not compile, or could not be judged: the row is to be mended. */
  | { readonly by: 'nothing'; readonly name: string };

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
  if (caught.by === 'nothing') return `NOT JUDGED: ${caught.name}`;
  return caught.by === 'test' ? `test ${caught.name}` : `${caught.by} ${caught.name} in ${caught.scenario}`;
}

/** One line of the table: seconds, name, what caught it. */
export function line({ name }: Mutant, { caught, build_s, judge_s }: Verdict): string {
  return `${(build_s + judge_s).toFixed(1).padStart(5)} s  ${name.padEnd(NAME_WIDTH)}  ${caughtText(caught)}`;
}

/** What the run says as a whole; the names of those that survived last. */
export function summaryText(mutants: readonly Mutant[], verdicts: readonly Verdict[], total_s: number): string {
  const by = (kind: Caught['by']) => verdicts.filter(({ caught }) => caught?.by === kind).length;
  const survived = verdicts.filter(({ caught }) => caught === null).map(({ index }) => mutants[index]);
  const judge_s = verdicts.reduce((sum, verdict) => sum + verdict.build_s + verdict.judge_s, 0);
  const each_s = verdicts.length > 0 ? judge_s / verdicts.length : 0;
  const unjudged = by('nothing') > 0 ? `, ${by('nothing')} not judged` : '';
  const counts = `${verdicts.length} planted defects: ${by('requirement')} caught by a requirement, ${by('goal')} by a goal, ${by('test')} by a test`;
  return [
    `${counts}, ${survived.length} survived${unjudged}; ${total_s.toFixed(0)} s, ${each_s.toFixed(1)} s for each`,
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

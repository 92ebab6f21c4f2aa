import { shellWords, withoutOptions } from '../base/command-line.js';
import type { FuzzOptions } from './fuzz-options.js';

/**
 * What to type next, after a campaign.
 * @param args the command line as it was given, from `fuzz` on
 * @param unfinished some of its cuts were not tried
 */
export function nextSteps(
  args: readonly string[],
  { out, cases }: Pick<FuzzOptions, 'out' | 'cases'>,
  unfinished: boolean,
  broken: boolean,
): string[] {
  const go_on = out === undefined ? undefined : ['fuzz', '--out', out, '--resume'];
  const steps: string[] = [];
  if (unfinished) {
    steps.push(
      go_on
        ? `To go on: standoff ${shellWords(go_on)}`
        : 'Nothing was kept to go on from: --out FILE keeps what a campaign found, and with --resume goes on with it.',
    );
  }
  if (cases === undefined && !unfinished) {
    const what = broken ? 'The simplest cut that breaks each requirement' : 'The cuts that came nearest';
    // The number of threads changes nothing, so it is not repeated.
    const asked = withoutOptions(args, ['--workers']);
    steps.push(`${what}: standoff ${shellWords([...(go_on ?? asked), '--cases', 'found'])}`);
  }
  return steps;
}

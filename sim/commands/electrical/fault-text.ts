import { fixed } from '../../views/terminal/text.js';
import type { Page } from '../base/page.js';
import type { DividerReport } from './divider.js';
import type { FaultTrial, TrialResult } from '../../campaign/fault-trial.js';

/** The single-fault table: what a steady arc reads, and what came of a cut with the fault in it. */
export function faultLines(page: Page, { trials, use, module_sha256, setup }: DividerReport): void {
  page.heading(`Single faults: what ${use.target_V} V of arc read, and what the box does`);
  page.table(
    { titles: ['fault', 'V', 'from power-up', 'during the cut'], sides: ['left', 'right', 'left', 'left'] },
    sameFaults(trials).map(({ names, trial: { fault, results } }) => [
      `${names} ${fault.failure}`,
      fixed(fault.reads_V, 0),
      ...results.map(resultText),
    ]),
  );
  page.quiet(
    `Tried by simulation: each fault at both moments in a straight cut, noise ${setup.world.noise.white_V_rms_per_tick} V rms a tick, ` +
      `through the control module ${module_sha256.slice(0, 12)}. Times are from the fault, or from the trigger when that came later. LATE: the torch had met something or a requirement was broken by then. Harmless: not noticed, and the cut kept every requirement and wish; rougher: it kept every requirement and met nothing, but missed a wish (± is what 99.9 % of the time stayed within).`,
  );
}

/** Equal parts that fail alike stand in one line. */
function sameFaults(trials: readonly FaultTrial[]): { readonly names: string; readonly trial: FaultTrial }[] {
  const groups = new Map<string, FaultTrial[]>();
  for (const trial of trials) {
    const { failure, effect, code } = trial.fault;
    const key = [failure, effect, code, ...trial.results.map(resultText)].join('\0');
    groups.set(key, [...(groups.get(key) ?? []), trial]);
  }
  return [...groups.values()].map((group) => {
    const names = group.map(({ fault }) => fault.part);
    const resistors = names.length > 2 && names.every((name) => /^R\d+$/.test(name));
    return { names: resistors ? `${names[0]}…${names.at(-1)}` : names.join(', '), trial: group[0]! };
  });
}

function resultText({ verdict, fault, after_ms, permitted, moment, standoff_error_p999_mm }: TrialResult): string {
  const within = `±${fixed(standoff_error_p999_mm ?? Number.NaN, 2)} mm`;
  switch (verdict) {
    case 'noticed':
      return `${fault} ${after_ms} ms${moment === 'from power-up' && permitted ? ', table let go' : ''}`;
    case 'late':
      return `LATE: ${fault} ${after_ms} ms`;
    case 'harmless':
      return `harmless, ${within}`;
    case 'rougher':
      return `rougher, ${within}`;
    case 'unnoticed':
      return 'NOT NOTICED';
  }
}

import { createHash } from 'node:crypto';
import { appendFileSync, existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { loadControlModule } from '../../sim/run/controller/index.js';
import type { Mutant } from './mutant.js';
import type { Verdict } from './report.js';

const hash = (text: string) => createHash('sha256').update(text).digest('hex').slice(0, 12);
const textOf = (place: string) => readFileSync(fileURLToPath(new URL(place, import.meta.url)), 'utf8');

/**
 * What a verdict hangs on beside its row: the sound module, the scenarios and the tests. The bytes of a bundled file stand for all
 * that it imports; the table of rows is left out, for each row stands in its own line.
 */
function judgesHash(): string {
  const suites = readdirSync(new URL('../control/', import.meta.url)).filter((name) => name.endsWith('.test.js'));
  const files = ['./worker.js', './suites.js', ...suites.sort().map((name) => `../control/${name}`)];
  return hash([loadControlModule().sha256, ...files.map(textOf)].join('\n').replace(/rows-[\w-]+\.js/g, ''));
}

/** Verdicts of rows in a file, one a line: a run that was broken off goes on from there. */
export class KeptVerdicts {
  private readonly key = judgesHash();
  private readonly known = new Map<string, Verdict>();

  /** @param file that is read if it is there, and added to */
  constructor(private readonly file: string) {
    if (!existsSync(file)) return;
    for (const line of readFileSync(file, 'utf8').split('\n').filter(Boolean)) {
      const { row, ...verdict } = JSON.parse(line) as Verdict & { readonly row: string };
      this.known.set(row, verdict);
    }
  }

  private rowOf({ name, file, search, replacement }: Mutant): string {
    return `${name} ${hash([this.key, file, search, replacement].join('\n'))}`;
  }

  /** The verdict of a row that was judged as it is, by what judges now. */
  of(mutant: Mutant, index: number): Verdict | undefined {
    const verdict = this.known.get(this.rowOf(mutant));
    return verdict && { ...verdict, index };
  }

  add(mutant: Mutant, verdict: Verdict): void {
    if (verdict.caught?.by !== 'nothing')
      appendFileSync(this.file, `${JSON.stringify({ row: this.rowOf(mutant), ...verdict })}\n`);
  }
}

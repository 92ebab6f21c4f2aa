/**
 * `npm run mutants [-- --json] [--kept FILE] [--every N] [names]`: plants each defect of the table in the control module and says
 * which requirement, goal or test catches it, and how fast. Verdicts are kept in the file, and a run that was broken off goes on from
 * there; `--every N` takes each Nth row. Exit status 1 when one survives (a test is missing) or does not compile.
 */
import { availableParallelism } from 'node:os';
import { parseArgs } from 'node:util';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { plantedSource } from './build.js';
import { KeptVerdicts } from './kept.js';
import { judgeAll } from './pool.js';
import { caughtText, json, line, summaryText, type Verdict } from './report.js';
import { MUTANTS, SOUND } from './rows.js';

function placesOf(names: readonly string[]): readonly number[] {
  const unknown = names.find((name) => !MUTANTS.some((mutant) => mutant.name === name));
  if (unknown !== undefined) {
    throw new Error(`no planted defect is called ${unknown}; look at test/mutants/rows-*.ts`);
  }
  return [...MUTANTS.keys()].filter((index) => names.length === 0 || names.includes(MUTANTS[index].name));
}

/** @throws Error at once, and not after half an hour */
function refuseCaught({ caught }: Verdict): void {
  if (caught !== null) throw new Error(`the module without a defect is caught too: ${caughtText(caught)}`);
}

const OPTIONS = {
  json: { type: 'boolean' },
  kept: { type: 'string' },
  every: { type: 'string', default: '1' },
} as const;

async function main(): Promise<number> {
  const { values, positionals } = parseArgs({ options: OPTIONS, allowPositionals: true });
  const every = Number(values.every);
  if (!(Number.isInteger(every) && every >= 1)) throw new Error(`--every ${values.every}: give a whole number from 1`);
  const places = placesOf(positionals).filter((_, count) => count % every === 0);
  // A row that no longer applies is told before the long run, not in the middle of it.
  for (const place of places) plantedSource(MUTANTS[place]);
  const kept = values.kept === undefined ? undefined : new KeptVerdicts(values.kept);
  const before = places.map((place) => kept?.of(MUTANTS[place], place)).filter((verdict) => verdict !== undefined);
  const open = places.filter((place) => !before.some(({ index }) => index === place));
  const start = performance.now();
  const [, ...judged] = await judgeAll([SOUND, ...open], availableParallelism(), (verdict) => {
    if (verdict.index === SOUND) return refuseCaught(verdict);
    kept?.add(MUTANTS[verdict.index], verdict);
    if (!values.json) console.log(line(MUTANTS[verdict.index], verdict));
  });
  const total_s = (performance.now() - start) / 1000;
  const verdicts = [...before, ...judged].sort((a, b) => a.index - b.index);
  console.log(
    values.json
      ? json(MUTANTS, verdicts, loadControlModule().sha256, total_s)
      : summaryText(MUTANTS, verdicts, total_s),
  );
  return verdicts.some(({ caught }) => caught === null || caught.by === 'nothing') ? 1 : 0;
}

process.exitCode = await main().catch((error: Error) => {
  console.error(error.message);
  return 2;
});

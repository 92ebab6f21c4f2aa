/**
 * `npm run mutants [-- --json] [names]`: plants each defect of the table in the control module and says which requirement or
 * test catches it, and how fast. Exit status 1 when one survives: a test is missing.
 */
import { availableParallelism } from 'node:os';
import { parseArgs } from 'node:util';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { plantedSource } from './build.js';
import { judgeAll } from './pool.js';
import { caughtText, json, line, summaryText } from './report.js';
import { MUTANTS } from './rows.js';

/** Place of the module as it is: nothing may catch it, or being caught says nothing. */
const SOUND = -1;

function placesOf(names: readonly string[]): readonly number[] {
  const unknown = names.find((name) => !MUTANTS.some((mutant) => mutant.name === name));
  if (unknown !== undefined) {
    throw new Error(`no planted defect is called ${unknown}; look at test/mutants/rows-*.ts`);
  }
  return [...MUTANTS.keys()].filter((index) => names.length === 0 || names.includes(MUTANTS[index].name));
}

async function main(): Promise<number> {
  const { values, positionals } = parseArgs({ options: { json: { type: 'boolean' } }, allowPositionals: true });
  const places = placesOf(positionals);
  // A row that no longer applies is told before the long run, not in the middle of it.
  for (const place of places) plantedSource(MUTANTS[place]);
  const start = performance.now();
  const [sound, ...verdicts] = await judgeAll([SOUND, ...places], availableParallelism(), (verdict) => {
    if (!values.json && verdict.index !== SOUND) console.log(line(MUTANTS[verdict.index], verdict));
  });
  if (sound.caught !== null) {
    console.error(`the module without a defect is caught too: ${caughtText(sound.caught)}`);
    return 1;
  }
  const total_s = (performance.now() - start) / 1000;
  console.log(
    values.json
      ? json(MUTANTS, verdicts, loadControlModule().sha256, total_s)
      : summaryText(MUTANTS, verdicts, total_s),
  );
  return verdicts.some(({ caught }) => caught === null) ? 1 : 0;
}

process.exitCode = await main().catch((error: Error) => {
  console.error(error.message);
  return 2;
});

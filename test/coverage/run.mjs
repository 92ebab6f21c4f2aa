// Coverage of the control module: builds it with counters, runs the suites of control and loop on it, adds up and
// reports. Exit status 1 when a statement or branch was never reached, or a test failed.
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { merge, reportText, summarise } from './merge.mjs';

const FOLDER = '.cache/coverage';
const BUILD = ['firmware/control/module.ts', '--target', 'release'];
const WITH_COUNTERS = [
  ...['--transform', './test/coverage/transform.mjs'],
  ...['--outFile', 'dist/firmware/control.coverage.wasm', '--textFile', `${FOLDER}/control.coverage.wat`],
];

async function must(command, args, env = {}) {
  const [status] = await once(
    spawn('npx', [command, ...args], { stdio: 'inherit', env: { ...process.env, ...env } }),
    'exit',
  );
  return status === 0;
}

rmSync(FOLDER, { recursive: true, force: true });
mkdirSync(FOLDER, { recursive: true });
const map = `${FOLDER}/map.json`;
const built = await Promise.all([
  must('asc', BUILD),
  must('asc', [...BUILD, ...WITH_COUNTERS], { STANDOFF_COVERAGE_MAP: map }),
]);
if (built.includes(false)) process.exit(1);
const passed = await must('vitest', ['run', '--config', 'test/coverage/vitest.config.ts', ...process.argv.slice(2)]);

const { probes } = JSON.parse(readFileSync(map, 'utf8'));
const lists = readdirSync(FOLDER)
  .filter((name) => name.startsWith('hits-'))
  .map((name) => JSON.parse(readFileSync(`${FOLDER}/${name}`, 'utf8')));
const summary = summarise(probes, merge(lists, probes.length));
console.log(reportText(summary));
if (!passed) console.log('a test failed');
process.exitCode = passed && summary.unreached.length === 0 ? 0 : 1;

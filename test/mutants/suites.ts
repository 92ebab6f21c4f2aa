/**
 * The suites of the control module in a process of their own, up to the first test that fails: `suites.js SOURCE [SUITE…]`, the suites
 * that caught the last defects. Wherever a test
 * compiles the built control module, the file that STANDOFF_MUTANT names is compiled in its place. They run without the rest of
 * vitest, whose start takes longer than most of them. Exit status 1, with the name of the test, when one fails.
 */
import { readdirSync } from 'node:fs';
import { basename } from 'node:path';
import { fileURLToPath } from 'node:url';
import { startTests } from 'vitest/internal/browser';
import './setup.js';

const [, , about = '', ...recent] = process.argv;
const FOLDER = fileURLToPath(new URL('../control/', import.meta.url));
const SUITES_MOST = 1000;
/** Files that take longest; all the others together take less. */
const SLOW = ['snapshot.test.js', 'proof.test.js', 'guard.test.js', 'requirements.property.test.js'];

/** What is about the source that has the defect comes first, then what has caught others, then what is quick. */
function rank(name: string): number {
  if (name.startsWith(`${about}.`)) return -1;
  if (SLOW.includes(name)) return SUITES_MOST + SLOW.indexOf(name);
  return recent.includes(name) ? recent.indexOf(name) : recent.length;
}

type Runner = Parameters<typeof startTests>[1];

/** The name of the first test that failed, with its file; else of the file that did not load. */
let failed: string | undefined;
const told = (file: string, what: string) => {
  failed ??= `${basename(file)}: ${what}`;
};

const runner: Runner = {
  config: {
    ...{ root: FOLDER, setupFiles: [], name: undefined, passWithNoTests: true, testNamePattern: undefined },
    ...{ allowOnly: false, sequence: { hooks: 'stack', setupFiles: 'list', seed: 0 }, maxConcurrency: 1 },
    ...{ testTimeout: 60_000, hookTimeout: 60_000, retry: 0, includeTaskLocation: false, tags: [], strictTags: false },
    ...{ chaiConfig: undefined, tagsFilter: undefined },
  } as Runner['config'],
  importFile: (path) => import(path),
  onAfterRunTask: (test) => {
    if (test.result?.state === 'fail') leave(test.file.filepath, test.fullTestName);
  },
};

/** Nothing after the first failure matters. */
function leave(file: string, what: string): never {
  told(file, what);
  process.stdout.write(`${failed}\n`);
  process.exit(1);
}

const files = readdirSync(FOLDER).filter((name) => name.endsWith('.test.js'));
files.sort((a, b) => rank(a) - rank(b) || (a < b ? -1 : 1));
for (const name of files) {
  const [file] = await startTests([{ filepath: `${FOLDER}${name}`, fileTags: [] }], runner);
  if (file.result?.state === 'fail') leave(name, file.result.errors?.[0]?.message.split('\n')[0] ?? 'does not load');
}

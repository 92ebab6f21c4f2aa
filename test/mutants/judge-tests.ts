import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';

/** A suite that runs so long, on a busy machine too, hangs in a test that waits for the box. */
const LONGEST_MS = 300_000;
const VITEST = 'node_modules/vitest/vitest.mjs';
const CONFIG = 'test/mutants/vitest.config.ts';

/** The part of vitest's report that is read. */
interface Report {
  readonly testResults: readonly {
    readonly name: string;
    readonly status: string;
    readonly message: string;
    readonly assertionResults: readonly { readonly status: string; readonly fullName: string }[];
  }[];
}

/** @returns the first test of the suites of the control module that fails with this module; undefined when none does. */
export function judgeByTests(wasm: Uint8Array): string | undefined {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-mutant-'));
  try {
    const module = join(folder, 'control.wasm');
    const report = join(folder, 'report.json');
    writeFileSync(module, wasm);
    const run = spawnSync(
      process.execPath,
      [VITEST, 'run', '--config', CONFIG, '--reporter=json', `--outputFile=${report}`],
      { env: { ...process.env, STANDOFF_MUTANT: module, VOLUME: '1' }, timeout: LONGEST_MS, killSignal: 'SIGKILL' },
    );
    if (run.signal !== null) return `no end within ${LONGEST_MS / 1000} s`;
    if (run.status === 0) return undefined;
    return firstFailure(JSON.parse(readFileSync(report, 'utf8')) as Report);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The first test that failed, with its file; else the file that did not load. */
export function firstFailure({ testResults }: Report): string {
  for (const { name, assertionResults } of testResults) {
    const failed = assertionResults.find(({ status }) => status === 'failed');
    if (failed) return `${basename(name)}: ${failed.fullName}`;
  }
  const broken = testResults.find(({ status }) => status === 'failed');
  return broken
    ? `${basename(broken.name)}: ${broken.message.split('\n')[0]}`
    : 'the suite fails without a test that does';
}

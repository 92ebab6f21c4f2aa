import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** A suite that runs so long, on a busy machine too, hangs in a test that waits for the box. */
const LONGEST_MS = 300_000;
const SUITES = fileURLToPath(new URL('./suites.js', import.meta.url));

/** Suites that caught a defect, the last one first: they are asked first for the next. */
const recent: string[] = [];

/**
 * @param source the file of the control module that has the defect: what is about it is asked first
 * @returns the first test of the suites of the control module that fails with this module; undefined when none does
 * @throws Error when the suites do not run
 */
export function judgeByTests(wasm: Uint8Array, source: string): string | undefined {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-mutant-'));
  try {
    const module = join(folder, 'control.wasm');
    writeFileSync(module, wasm);
    const failed = verdictOf(
      spawnSync(process.execPath, [SUITES, basename(source, '.ts'), ...recent], {
        env: { ...process.env, STANDOFF_MUTANT: module, VOLUME: '1' },
        encoding: 'utf8',
        timeout: LONGEST_MS,
        killSignal: 'SIGKILL',
      }),
    );
    if (failed !== undefined) remember(failed.split(':')[0]);
    return failed;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function remember(suite: string): void {
  const at = recent.indexOf(suite);
  if (at >= 0) recent.splice(at, 1);
  recent.unshift(suite);
}

/** The part that is read of how a process ended. */
interface Ended {
  readonly status: number | null;
  readonly signal: string | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** What the end of the suites says. A process that ends in another way than it should is no verdict. */
export function verdictOf({ status, signal, stdout, stderr }: Ended): string | undefined {
  if (signal !== null) return `no end within ${LONGEST_MS / 1000} s`;
  if (status === 0) return undefined;
  const [name] = stdout.trim().split('\n').slice(-1);
  if (status !== 1 || !name) throw new Error(`the suites did not run: ${stderr}`);
  return name;
}

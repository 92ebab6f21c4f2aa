import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

/** A general program that a check compares with. */
export interface ReferenceProgram {
  /** As a reader would call it. */
  readonly name: string;
  /** Debian package that brings it. */
  readonly debian: string;
  /** Commands to look for on the PATH. */
  readonly command: string;
  /** Arguments with which it ends with status 0 if it is what the check needs. */
  readonly probe: readonly string[];
}

export const SCIPY: ReferenceProgram = {
  name: 'python3 with scipy',
  debian: 'python3-scipy',
  command: 'python3',
  probe: ['-c', 'import numpy, scipy.linalg, scipy.optimize, scipy.signal'],
};

export const WASM_INTERP: ReferenceProgram = {
  name: 'wasm-interp',
  debian: 'wabt',
  command: 'wasm-interp',
  probe: ['--version'],
};

/** Distributions put their own programs here; another one of the same name may stand before them on the PATH. */
const USUAL_PLACES = ['/usr/bin', '/usr/local/bin'];

/** The first command of that name that passes the probe; a python3 without scipy is passed over. */
export function findProgram(program: ReferenceProgram): string | undefined {
  const folders = [...(process.env.PATH ?? '').split(delimiter), ...USUAL_PLACES];
  return folders
    .filter((folder) => folder !== '')
    .map((folder) => join(folder, program.command))
    .find((file) => existsSync(file) && spawnSync(file, [...program.probe], { stdio: 'ignore' }).status === 0);
}

/** What becomes of checks whose program is not there: on a user's machine skipped, in CI (CI=true) failed. */
export interface Missing {
  readonly becomes: 'skipped' | 'failed';
  /** One line that names the package. */
  readonly line: string;
}

export function whenMissing(program: ReferenceProgram, title: string, ci: string | undefined): Missing {
  const becomes = ci === 'true' ? 'failed' : 'skipped';
  return { becomes, line: `${becomes}: ${title}: ${program.name} is missing; Debian package ${program.debian}` };
}

/** A group of checks against `program`; `body` gets its command. */
export function describeAgainst(program: ReferenceProgram, title: string, body: (command: string) => void): void {
  const command = findProgram(program);
  if (command !== undefined) {
    describe(title, () => body(command));
    return;
  }
  const missing = whenMissing(program, title, process.env.CI);
  if (missing.becomes === 'skipped') console.warn(missing.line);
  describe(title, { skip: missing.becomes === 'skipped' }, () => {
    it(`needs ${program.name}`, () => expect.fail(missing.line));
  });
}

/** Runs a script of this folder (or `../bench/…`) with a question as JSON on its input; its answer is JSON too. */
export function askPython<Answer>(python: string, script: string, question: unknown): Answer {
  const file = fileURLToPath(new URL(script, import.meta.url));
  const answer = execFileSync(python, ['-B', file], {
    input: JSON.stringify(question),
    encoding: 'utf8',
    // One thread: sums are added up in one order, and other tests keep their core.
    env: { ...process.env, OPENBLAS_NUM_THREADS: '1' },
    maxBuffer: 1 << 28,
  });
  return JSON.parse(answer) as Answer;
}

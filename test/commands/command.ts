import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll } from 'vitest';

/** The command as it ships: compiled. */
const MAIN = fileURLToPath(new URL('../../dist/sim/commands/main.js', import.meta.url));

export interface Ended {
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** An environment without terminal habits of whoever runs the tests. */
const ENVIRONMENT = { PATH: process.env.PATH ?? '', LANG: 'C.UTF-8' };

/** Starts `standoff` in a folder; output goes through pipes, so it is never a terminal. @param stdout an open file in its place */
export function start(
  folder: string,
  args: readonly string[],
  env: Record<string, string> = {},
  stdout?: number,
): ChildProcess {
  if (!existsSync(MAIN)) throw new Error(`${MAIN} is missing: npm run build:host`);
  return spawn(process.execPath, [MAIN, ...args], {
    cwd: folder,
    env: { ...ENVIRONMENT, ...env },
    stdio: ['pipe', stdout ?? 'pipe', 'pipe'],
  });
}

export function ended(child: ChildProcess): Promise<Ended> {
  let stdout = '';
  let stderr = '';
  child.stdout?.on('data', (chunk) => {
    stdout += String(chunk);
  });
  child.stderr?.on('data', (chunk) => {
    stderr += String(chunk);
  });
  return new Promise((resolve) => {
    child.on('close', (status) => resolve({ status, stdout, stderr }));
  });
}

export const standoff = (folder: string, ...args: readonly string[]): Promise<Ended> => ended(start(folder, args));

/** A folder for one test file, with some files in it; gone at the end. */
export function folderWith(files: Readonly<Record<string, string | Uint8Array>>): string {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-'));
  for (const [name, content] of Object.entries(files)) writeFileSync(join(folder, name), content);
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** One straight cut: the shortest run that goes through every mode of a good cut. */
export const SHORT_CUT = 'G21 G90\nG0 X50 Y50\nM3\nG1 X110 F3000\nM5\nG4 P0.8\nM2\n';

/** Straight cuts enough for half an hour. */
export const LONG_CUT = [
  'G21 G90 F3000',
  ...Array.from({ length: 400 }, (_, index) => {
    const y = 10 + (index % 76) * 5;
    const x = 5 + Math.floor(index / 76) * 59;
    return `G0 X${x} Y${y}\nM3\nG1 X${x + 50}\nM5\nG4 P0.8`;
  }),
  'M2\n',
].join('\n');

import { execFileSync } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll } from 'vitest';

export const RECIPES = fileURLToPath(new URL('../../hardware-notes/fuzzing/', import.meta.url));
const MAIN = fileURLToPath(new URL('../../dist/sim/commands/main.js', import.meta.url));
export const STANDOFF = `${process.execPath} ${MAIN}`;

/** Long enough that a shard can be broken off after its first part is kept. */
export const WANTED = ['--runs', '480', '--seed', '4'] as const;

/** A campaign that was broken off says so. */
export const BROKEN_OFF = 'these were not tried';

/** Stands in for a standoff that takes its time to keep what is complete. */
export const SLOW = `while [ "$1" != --out ]; do shift; done
trap 'sleep 3; echo complete > slow.txt; exit 130' TERM
echo begun > slow.txt
sleep 60 & wait
`;

/** A folder for the files of a recipe; gone at the end. */
export function recipeFolder() {
  const folder = join(tmpdir(), `standoff-recipe-${randomUUID()}`);
  // Not before a test runs: what is skipped leaves nothing behind.
  beforeAll(() => void mkdirSync(folder));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return {
    folder,
    text: (name: string) => readFileSync(join(folder, name), 'utf8'),
    /** Numbers of the shards that have kept something. */
    kept: () => readdirSync(folder).flatMap((name) => /^shard-(\d+)\.json$/.exec(name)?.[1] ?? []),
  };
}

let one_run = '';

/** What one run gives; the recipes must give the same, byte for byte. */
export function whole(): string {
  one_run ||= execFileSync(process.execPath, [MAIN, 'fuzz', ...WANTED, '--json'], { encoding: 'utf8', stdio: 'pipe' });
  return one_run;
}

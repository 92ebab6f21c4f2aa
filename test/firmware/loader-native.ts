import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { ReferenceProgram } from '../reference/support.js';
import { WIRE_SOURCES } from './box-native.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const at = (path: string): string => join(ROOT, path);

/** The desk's own compiler, with which the loader's logic runs under sanitizers. */
export const GCC: ReferenceProgram = { name: 'gcc', debian: 'gcc', command: 'gcc', probe: ['--version'] };

const LOGIC = [
  ...['update.c', 'slots.c', 'services.c', 'reason.c'].map((name) => at(`firmware/loader/${name}`)),
  ...WIRE_SOURCES,
];

/** Compiles one program of test/firmware/native with the loader's logic and the chip model; returns its path. */
export function buildLoaderProgram(gcc: string, name: string): string {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-native-'));
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, 'build.gen.h'), '#define VERSION_TEXT "0.0.0"\n');
  const program = join(folder, name);
  const sources = [at(`test/firmware/native/${name}.c`), at('test/firmware/native/chip-model.c'), ...LOGIC];
  execFileSync(gcc, [
    ...['-std=gnu11', '-O1', '-g', '-Wall', '-Wextra', '-Werror', '-Wconversion', '-Wno-sign-conversion'],
    ...['-fsanitize=address,undefined', '-fno-sanitize-recover=all'],
    ...['firmware/wire', 'firmware/ports/host', 'firmware/loader', 'test/firmware/native'].map(
      (room) => `-I${at(room)}`,
    ),
    `-I${folder}`,
    ...sources,
    '-o',
    program,
  ]);
  return program;
}

/**
 * libFuzzer with sanitizers on what the box and its loader take from the line: the decoder, the services, the update.
 * FUZZ_SECONDS says how long each runs; 20 by default.
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { buildBox } from '../firmware/box-native.js';
import { describeAgainst, type ReferenceProgram } from './support.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const CLANG: ReferenceProgram = {
  name: 'clang with libFuzzer',
  debian: 'clang libclang-rt-dev',
  command: 'clang',
  probe: ['--version'],
};
const FUZZER = ['-fsanitize=fuzzer,address,undefined', '-fno-sanitize-recover=all'];
const SECONDS = Number(process.env.FUZZ_SECONDS ?? 20);
const SEED = 1;
const LONGEST_INPUT = 4096;
/** A machine that is busy gets this far in 20 seconds as well; a fuzzer that does not run does not. */
const LEAST_RUNS = 1000;

function buildLoader(clang: string): string {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-fuzz-'));
  writeFileSync(join(folder, 'build.gen.h'), '#define VERSION_TEXT "0.0.0"\n');
  const file = join(folder, 'fuzz-loader');
  const sources = [
    ...['fuzz-loader.c', 'chip-model.c'].map((name) => `test/firmware/native/${name}`),
    ...['update.c', 'slots.c', 'services.c'].map((name) => `firmware/loader/${name}`),
    'firmware/wire/frame.c',
  ];
  const rooms = ['firmware/wire', 'firmware/loader', 'test/firmware/native'];
  execFileSync(clang, [
    ...['-std=gnu11', '-g', '-O1', ...FUZZER, '-Wall', '-Wextra', '-Werror', `-I${folder}`],
    ...rooms.map((room) => `-I${join(ROOT, room)}`),
    ...[...sources.map((source) => join(ROOT, source)), '-o', file],
  ]);
  return file;
}

/** Runs a fuzzer from an empty corpus. @returns what it said at its end, with the input that broke it if one did */
function fuzz(program: string): { readonly status: number | null; readonly text: string; readonly runs: number } {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-fuzzed-'));
  const options = [
    `-max_total_time=${SECONDS}`,
    `-max_len=${LONGEST_INPUT}`,
    `-seed=${SEED}`,
    `-artifact_prefix=${folder}/`,
  ];
  const { status, stderr } = spawnSync(program, [...options, folder], { encoding: 'utf8', maxBuffer: 1 << 28 });
  const runs = Number(/Done (\d+) runs/.exec(stderr)?.[1] ?? 0);
  return { status, text: stderr.split('\n').slice(-40).join('\n'), runs };
}

describeAgainst(CLANG, `libFuzzer, ${SECONDS} s each`, (clang) => {
  it.each([
    ['the box: decoder and services, between ticks', () => buildBox(clang, { program: 'fuzz-box', flags: FUZZER })],
    ['the loader: decoder, services and update', () => buildLoader(clang)],
  ])('finds nothing in %s', { timeout: SECONDS * 3000 + 240_000 }, (name, build) => {
    const { status, text, runs } = fuzz(build());
    expect(status, text).toBe(0);
    console.info(`${name}: ${runs} inputs, nothing found`);
    expect(runs).toBeGreaterThan(LEAST_RUNS);
  });
});

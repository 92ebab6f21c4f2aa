/**
 * libFuzzer with sanitizers on what the box and its loader take from the line: the decoder, the services, the update.
 * FUZZ_SECONDS says how long each runs; 20 by default, 3 in a plain run.
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { encodeLayout } from '../../sim/link/index.js';
import { buildBox, WIRE_SOURCES } from '../firmware/box-native.js';
import { madeBody, madeHead } from '../firmware/made-image.js';
import { amount } from '../support/volume.js';
import { describeAgainst, type ReferenceProgram } from './support.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const CLANG: ReferenceProgram = {
  name: 'clang with libFuzzer',
  debian: 'clang libclang-rt-dev',
  command: 'clang',
  probe: ['--version'],
};
const FUZZER = ['-fsanitize=fuzzer,address,undefined', '-fno-sanitize-recover=all'];
const SECONDS = Number(process.env.FUZZ_SECONDS ?? amount(20, 3, 8));
const SEED = 1;
const LONGEST_INPUT = 4096;
/** A machine that is busy gets this far as well; a fuzzer that does not run does not. */
const LEAST_RUNS = 50 * SECONDS;

function buildLoader(clang: string): string {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-fuzz-'));
  writeFileSync(join(folder, 'build.gen.h'), '#define VERSION_TEXT "0.0.0"\n');
  const file = join(folder, 'fuzz-loader');
  const sources = [
    ...['fuzz-loader.c', 'chip-model.c'].map((name) => `test/firmware/native/${name}`),
    ...['update.c', 'slots.c', 'services.c'].map((name) => `firmware/loader/${name}`),
  ];
  const rooms = ['firmware/wire', 'firmware/ports/host', 'firmware/loader', 'test/firmware/native'];
  execFileSync(clang, [
    ...['-std=gnu11', '-g', '-O1', ...FUZZER, '-Wall', '-Wextra', '-Werror', `-I${folder}`],
    ...rooms.map((room) => `-I${join(ROOT, room)}`),
    ...[...sources.map((source) => join(ROOT, source)), ...WIRE_SOURCES, '-o', file],
  ]);
  return file;
}

/** On the fuzzers' first byte: the rest is whole frames, and the key is on. */
const FRAMES = 2;
const KEY_ON = 1;

/** Frames as the fuzzers read them: service, length in units of 4, payload. */
function frames(mode: number, ...asked: readonly (readonly [string, Uint8Array?])[]): Buffer {
  const parts = asked.map(([name, payload = new Uint8Array()]) => {
    const { code } = SERVICE_ROWS.find((row) => row.name === name)!;
    return Buffer.concat([Buffer.from([code, payload.length / 4]), payload]);
  });
  // Words that end no frame: the reader wants a byte more than a head.
  return Buffer.concat([Buffer.from([mode]), ...parts, Buffer.alloc(1)]);
}

const body = madeBody(512, 3);
const piece = (first: number): Uint8Array =>
  Buffer.concat([encodeLayout('update_bytes', { offset: first }), body.subarray(first, first + 256)]);
/** Sessions that succeed (with the key off): what no fuzzer would find by itself. */
const LOADER_SEEDS = [FRAMES, FRAMES | KEY_ON].map((mode) =>
  frames(
    mode,
    ['identity'],
    ['update-begin', madeHead(body)],
    ['update-write', piece(0)],
    ['update-write', Buffer.concat([piece(256), Buffer.alloc(16)])], // too long
    ['update-write', piece(256)],
    ...Array.from({ length: 8 }, () => ['update-finish'] as const),
  ),
);
const value = { id: 2, spare: 0, value: 60 };
const span = encodeLayout('span', { first: 0, count: 20 });
const BOX_SEEDS = [FRAMES, FRAMES | KEY_ON].flatMap((mode) => [
  frames(
    mode,
    ['parameters-stage', encodeLayout('values', {}, [value])],
    ['parameters-check'],
    ['parameters-commit'],
    ['parameters-read', span],
  ),
  frames(
    mode,
    ['lockstep-begin'],
    ['lockstep-ticks', encodeLayout('tick_inputs', { first: 0 }, new Uint8Array(64))],
    ['lockstep-parameter', encodeLayout('one_value', value)],
    ['lockstep-end'],
  ),
  frames(mode, ['events-read', span], ['history-read', span], ['readings'], ['line-speed', new Uint8Array(4)]),
  frames(mode, ['trim', encodeLayout('trim', { trim_V: -10 })]),
  frames(mode, ['loader-enter']),
]);

/** Runs a fuzzer from a few sessions on. @returns what it said at its end, with the input that broke it if one did */
function fuzz(
  program: string,
  seeds: readonly Buffer[],
): { readonly status: number | null; readonly text: string; readonly runs: number } {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-fuzzed-'));
  for (const [number, seed] of seeds.entries()) writeFileSync(join(folder, `seed-${number}`), seed);
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
    [
      'the box: decoder and services, between ticks',
      () => buildBox(clang, { program: 'fuzz-box', flags: FUZZER }),
      BOX_SEEDS,
    ],
    ['the loader: decoder, services and update', () => buildLoader(clang), LOADER_SEEDS],
  ])('finds nothing in %s', { timeout: SECONDS * 3000 + 240_000 }, (name, build, seeds) => {
    const { status, text, runs } = fuzz(build(), seeds);
    expect(status, text).toBe(0);
    console.info(`${name}: ${runs} inputs, nothing found`);
    expect(runs).toBeGreaterThan(LEAST_RUNS);
  });
});

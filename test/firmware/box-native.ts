import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { moduleCode } from '../../firmware/image/module-code.mjs';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const at = (path: string): string => join(ROOT, path);
const sources = (room: string): string[] =>
  readdirSync(at(room))
    .filter((name) => name.endsWith('.c'))
    .map((name) => at(`${room}/${name}`));

/** What box and loader share. */
export const WIRE_SOURCES = sources('firmware/wire');
/** The module as it was built here. */
export const CONTROL_WASM = at('dist/firmware/control.wasm');
/** Anything undefined ends the program with a report on stderr. */
export const SANITIZERS = ['-fsanitize=address,undefined', '-fno-sanitize-recover=all'];
/** What reads the box's own sources strictly. */
const WARNINGS = ['-Wall', '-Wextra', '-Werror', '-Wconversion', '-Wno-sign-conversion'];
/** As the desk's C library has them too, these two are called and not put in by the compiler. */
const OWN_ROUNDING = ['-fno-builtin-sqrtf', '-fno-builtin-nearbyintf'];

export interface BoxProgram {
  /** Of test/firmware/native; without it the program is box-host. */
  readonly program?: string;
  readonly wasm?: string;
  /** For everything, the module included. */
  readonly flags?: readonly string[];
  readonly defines?: readonly string[];
  /** More sources and folders of headers. */
  readonly more?: readonly string[];
  /** Sources of the box or of its board that are spoilt on purpose. */
  readonly patches?: readonly Patch[];
}

/** A planted defect of the C: in this file the one place of `find` becomes `replace`. */
export interface Patch {
  readonly file: string;
  readonly find: string;
  readonly replace: string;
}

/**
 * The sources with copies in `folder` in place of those that are patched.
 * @throws Error when a file does not have its place exactly once
 */
function patched(files: readonly string[], patches: readonly Patch[], folder: string): string[] {
  return files.map((file) => {
    const own = patches.filter((patch) => at(patch.file) === file);
    if (own.length === 0) return file;
    let source = readFileSync(file, 'utf8');
    for (const { find, replace } of own) {
      if (source.split(find).length !== 2) throw new Error(`${file} does not have once: ${find}`);
      source = source.replace(find, () => replace);
    }
    const copy = join(folder, basename(file));
    writeFileSync(copy, source);
    return copy;
  });
}

const CACHE = at('.cache/box');
/** Rooms whose files a program may be made of. */
const ROOMS = ['firmware/wire', 'firmware/box', 'firmware/ports/host', 'firmware/box/runtime', 'test/firmware/native'];

/** Everything that a program depends on, in one hash: the same is not compiled twice, in whatever test. */
function keyOf(parts: readonly string[], files: readonly string[]): string {
  const hash = createHash('sha256').update(JSON.stringify(parts));
  const own = ROOMS.flatMap((room) => readdirSync(at(room)).map((name) => at(`${room}/${name}`)));
  for (const file of [...own.filter((name) => /\.[ch]$/.test(name)), ...files]) hash.update(readFileSync(file));
  return hash.digest('hex').slice(0, 24);
}

/** A file of the cache, made in a folder of its own and moved to its place when it is whole. */
function cached(key: string, make: (folder: string, file: string) => void): string {
  const file = join(CACHE, key);
  if (existsSync(file)) return file;
  mkdirSync(CACHE, { recursive: true });
  const folder = mkdtempSync(join(CACHE, 'making-'));
  make(folder, join(folder, key));
  renameSync(join(folder, key), file);
  rmSync(folder, { recursive: true });
  return file;
}

/** Compiles the box on the PC's board: main.c and all behind it, the module through wasm2c. @returns the program */
export function buildBox(compiler: string, wanted: BoxProgram = {}): string {
  const { program, wasm = CONTROL_WASM, flags = SANITIZERS, defines = [], more = [], patches = [] } = wanted;
  const common = ['-std=gnu11', '-g', '-O1', '-ffp-contract=off', ...OWN_ROUNDING, ...flags];
  const parts = [compiler, program ?? '', ...common, ...defines, ...more, JSON.stringify(patches)];
  const key = keyOf(parts, [wasm, ...more.filter(existsSync)]);
  return cached(`${program ?? 'box-host'}-${key}`, (folder, file) => {
    moduleCode(wasm, folder);
    writeFileSync(
      join(folder, 'build.gen.h'),
      `#define VERSION_TEXT "0.0.0"\n#define MODULE_SHA256_BYTES {${Array.from({ length: 32 }, (_, i) => i)}}\n`,
    );
    const paths = [
      ...['firmware/wire', 'firmware/box', 'firmware/ports/host', 'test/firmware/native'].map(
        (room) => `-I${at(room)}`,
      ),
      ...['-iquote', at('firmware/box/runtime'), `-I${folder}`],
    ];
    const module_key = `module-${keyOf([compiler, ...common], [wasm])}`;
    const module = cached(module_key, (_, object) => {
      execFileSync(compiler, [...common, ...paths, '-c', join(folder, 'control.c'), '-o', object]);
    });
    const board = ['port.c', 'flash.c'].map((name) => at(`firmware/ports/host/${name}`));
    const own = [...sources('firmware/box'), ...board];
    const compile = [...common, ...WARNINGS, ...defines, ...paths];
    // What is not spoilt is the same in every program: each source is compiled once.
    const made = (source: string): string =>
      cached(`${basename(source)}-${keyOf([compiler, source, ...common, ...defines], [wasm])}`, (_, object) => {
        execFileSync(compiler, [...compile, '-c', source, '-o', object]);
      });
    const all = [
      ...patched(own, patches, folder),
      ...sources('firmware/box/runtime').filter((source) => !source.endsWith('division.c')),
      ...(program === undefined
        ? sources('firmware/ports/host').filter((source) => !board.includes(source))
        : [at(`test/firmware/native/${program}.c`)]),
      ...WIRE_SOURCES,
    ];
    const [spoilt, sound] = [true, false].map((is) => all.filter((source) => source.startsWith(folder) === is));
    execFileSync(compiler, [...[...compile, ...spoilt, '-x', 'none', ...sound.map(made), module, ...more, '-o', file]]);
  });
}

/** Compiles a program of test/firmware/native that reads and prints through io.h, with the module and its runtime. */
export function buildNative(compiler: string, program: string): string {
  const common = ['-std=gnu11', '-g', '-O1', '-ffp-contract=off', ...OWN_ROUNDING, ...SANITIZERS];
  return cached(`${program}-${keyOf([compiler, program, ...common], [CONTROL_WASM])}`, (folder, file) => {
    moduleCode(CONTROL_WASM, folder);
    const paths = [
      ...['firmware/wire', 'firmware/box', 'firmware/ports/host', 'test/firmware/native'].map(
        (room) => `-I${at(room)}`,
      ),
      ...['-iquote', at('firmware/box/runtime'), `-I${folder}`],
    ];
    const module = [at('firmware/box/module.c'), join(folder, 'control.c')];
    execFileSync(compiler, [
      ...[...common, ...paths, ...(program === 'replay' ? module : [])],
      ...[at(`test/firmware/native/${program}.c`), at('test/firmware/native/io-desk.c')],
      ...[at('firmware/box/runtime/rounding.c'), '-lm', '-o', file],
    ]);
  });
}

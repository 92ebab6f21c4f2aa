/**
 * Builds what is flashed: the loader, the image, and both as a UF2 for the first installation.
 *
 *   node firmware/image/build.mjs            writes firmware/image
 *   node firmware/image/build.mjs --check    fails unless firmware/image is, byte for byte, what this source gives
 *   node firmware/image/build.mjs --out DIR  writes there
 *
 * Wants dist/firmware/control.wasm (npm run build:module) and Debian's gcc-arm-none-eabi. Equal sources give equal
 * bytes in any directory: no debug information, no build id, no time, no path.
 */
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { moduleCode } from './module-code.mjs';
import { bootBlock, image, loader, uf2 } from './pack.mjs';

const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), '../..');
const IMAGE = join(ROOT, 'firmware/image');
const STATIC_RAM_MOST = 32 * 1024;
const ARM = ['-mcpu=cortex-m0plus', '-mthumb'];
const FLAGS = [
  ...ARM,
  '-std=c11',
  '-O2',
  '-ffp-contract=off',
  '-ffreestanding',
  '-ffunction-sections',
  '-fdata-sections',
  '-fno-common',
  '-fno-ident',
  '-fno-asynchronous-unwind-tables',
  `-ffile-prefix-map=${ROOT}=.`,
];
const WARNINGS = ['-Wall', '-Wextra', '-Werror', '-Wconversion', '-Wno-sign-conversion'];
const LINK = [...ARM, '-nostdlib', '-nostartfiles', '-Wl,--build-id=none', '-Wl,--gc-sections', '-Wl,-z,noexecstack'];

const gcc = (args) => execFileSync('arm-none-eabi-gcc', args, { stdio: ['ignore', 'inherit', 'inherit'] });
const list = (room, ending) =>
  readdirSync(join(ROOT, room))
    .filter((name) => name.endsWith(ending))
    .sort()
    .map((name) => join(ROOT, room, name));
const sha256 = (bytes) => createHash('sha256').update(bytes).digest();

/** Compiles each source to an object file of its own; returns them in the order given. */
function compile(work, kind, sources, includes, defines = []) {
  return sources.map((source) => {
    const object = join(work, `${kind}-${relative(ROOT, source).replaceAll('/', '-')}.o`);
    const generated = source.startsWith(work);
    const warnings = source.endsWith('.c') && !generated ? WARNINGS : [];
    const own = basename(source) === 'memory.c' ? ['-fno-builtin', '-fno-tree-loop-distribute-patterns'] : [];
    const named = generated ? join(work, `${kind}-${basename(source)}.o`) : object;
    const paths = [...includes, work].map((path) => `-I${path}`);
    gcc([
      ...FLAGS,
      `-ffile-prefix-map=${work}=build`,
      ...warnings,
      ...own,
      ...defines,
      ...paths,
      '-c',
      source,
      '-o',
      named,
    ]);
    return named;
  });
}

/** Functions that some object puts in front of the library's: those that it defines as __wrap_… */
function wraps(objects) {
  const lines = execFileSync('arm-none-eabi-nm', ['--defined-only', ...objects], { encoding: 'utf8' }).split('\n');
  const names = lines.map((line) => / T __wrap_(\w+)$/.exec(line)?.[1]).filter((found) => found !== undefined);
  return [...new Set(names)].sort().map((found) => `-Wl,--wrap=${found}`);
}

function link(work, name, script, objects) {
  const elf = join(work, `${name}.elf`);
  gcc([...LINK, ...wraps(objects), '-T', join(ROOT, script), ...objects, '-lgcc', '-o', elf]);
  const binary = join(work, `${name}.bin`);
  execFileSync('arm-none-eabi-objcopy', ['-O', 'binary', elf, binary]);
  return { elf, bytes: readFileSync(binary) };
}

/** Addresses of the symbols of a linked file. */
function symbols(elf) {
  const lines = execFileSync('arm-none-eabi-nm', [elf], { encoding: 'utf8' }).trim().split('\n');
  return new Map(lines.map((line) => line.split(' ')).map(([address, , name]) => [name, Number.parseInt(address, 16)]));
}

const bytesOf = (hash) => [...hash].map((byte) => `0x${byte.toString(16).padStart(2, '0')}`).join(', ');

/** The module as C, and what the C sources are told about this build. */
function generate(work) {
  const wasm = join(ROOT, 'dist/firmware/control.wasm');
  if (!existsSync(wasm)) throw new Error(`${relative(ROOT, wasm)} is not there: run npm run build:module`);
  moduleCode(wasm, work);
  const module_sha256 = sha256(readFileSync(wasm));
  const { version } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));
  writeFileSync(
    join(work, 'build.gen.h'),
    `#define VERSION_TEXT "${version}"\n#define MODULE_SHA256_BYTES {${bytesOf(module_sha256)}}\n`,
  );
  return { module_sha256, version };
}

function build(work) {
  const { module_sha256, version } = generate(work);
  const wire = join(ROOT, 'firmware/wire');
  const board = join(ROOT, 'firmware/box');
  const port = join(ROOT, 'firmware/ports/rp2040');
  const frame = join(wire, 'frame.c');

  const boot = link(work, 'boot', 'firmware/ports/rp2040/loader/boot-block.ld', [
    ...compile(work, 'boot', [join(ROOT, 'firmware/ports/rp2040/loader/boot-block.S')], []),
  ]);
  const chip = (name) => join(port, name);
  const shared = ['clocks.c', 'flash.c', 'memory.c', 'pins.c', 'uart.c'].map(chip);
  const loaderStarts = [join(port, 'loader/start.S')];
  const loaderSources = [...loaderStarts, ...list('firmware/loader', '.c'), ...shared, frame];
  const resident = link(
    work,
    'loader',
    'firmware/ports/rp2040/loader/loader.ld',
    compile(work, 'loader', loaderSources, [wire, join(ROOT, 'firmware/loader')]),
  );

  const imageSources = [
    ...list('firmware/ports/rp2040', '.S'),
    ...list('firmware/ports/rp2040', '.c'),
    ...list('firmware/box', '.c'),
    ...list('firmware/box/runtime', '.c'),
    ...list('firmware/box/runtime', '.S'),
    frame,
    join(work, 'control.c'),
  ];
  const includes = [wire, board, port, join(board, 'runtime')];
  const box = link(work, 'image', 'firmware/ports/rp2040/image.ld', compile(work, 'image', imageSources, includes));
  const at = symbols(box.elf);
  const static_ram = at.get('variables_end') - at.get('stack_end') + at.get('data_end') - at.get('data_begin');

  const files = new Map();
  const loaderBytes = loader(bootBlock(boot.bytes), resident.bytes);
  const imageBytes = image(box.bytes, { version, module_sha256, export_table: at.get('export_table') ?? 0 });
  files.set('loader.bin', loaderBytes);
  files.set('standoff.image', imageBytes);
  files.set('standoff.uf2', uf2(loaderBytes, imageBytes));
  const hashes = Object.fromEntries([...files].map(([name, bytes]) => [name, sha256(bytes).toString('hex')]));
  const facts = {
    version,
    module_sha256: module_sha256.toString('hex'),
    body_bytes: box.bytes.length,
    static_ram_bytes: static_ram,
  };
  files.set('hashes.json', Buffer.from(`${JSON.stringify({ ...facts, sha256: hashes }, null, 2)}\n`));
  if (static_ram > STATIC_RAM_MOST) throw new Error(`static memory: ${static_ram} bytes, at most ${STATIC_RAM_MOST}`);
  console.log(
    `loader ${loaderBytes.length} bytes, image body ${box.bytes.length} bytes, static memory ${static_ram} bytes`,
  );
  return files;
}

function check(files) {
  const differing = [...files].filter(
    ([name, bytes]) => !existsSync(join(IMAGE, name)) || !readFileSync(join(IMAGE, name)).equals(bytes),
  );
  if (differing.length === 0) return console.log('firmware/image is what this source gives, byte for byte');
  for (const [name] of differing) console.error(`firmware/image/${name} is not what this source gives`);
  process.exitCode = 1;
}

function main(args) {
  const work = mkdtempSync(join(tmpdir(), 'standoff-build-'));
  try {
    const files = build(work);
    if (args[0] === '--check') return check(files);
    const out = args[0] === '--out' ? resolve(args[1]) : IMAGE;
    mkdirSync(out, { recursive: true });
    for (const [name, bytes] of files) writeFileSync(join(out, name), bytes);
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

main(process.argv.slice(2));

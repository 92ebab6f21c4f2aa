/**
 * Builds what is flashed: the loader, the image, and both as a UF2 for the first installation.
 *
 *   node firmware/image/build.mjs              writes firmware/image
 *   node firmware/image/build.mjs --check      fails unless firmware/image is, byte for byte, what this source gives
 *   node firmware/image/build.mjs --out DIR    writes there
 *   node firmware/image/build.mjs --port NAME  for this folder of firmware/ports; rp2040 when not given
 *
 * Core, sources, linker scripts and limits are the port's (firmware/ports/NAME/port.ts). Wants dist (npm run build) and the
 * port's compiler, for the RP2040 Debian's gcc-arm-none-eabi. Equal sources give equal bytes in any directory: no debug
 * information, no build id, no time, no path.
 */
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { moduleCode } from './module-code.mjs';
import { bootBlock, image, loader, uf2 } from './pack.mjs';

const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), '../..');
const IMAGE = join(ROOT, 'firmware/image');
const FLAGS = [
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
const LINK = ['-nostdlib', '-nostartfiles', '-Wl,--build-id=none', '-Wl,--gc-sections', '-Wl,-z,noexecstack'];

/** A folder of firmware/ports that can be built: its description, and paths in it. */
async function portNamed(name) {
  const described = readdirSync(join(ROOT, 'firmware/ports')).filter((folder) =>
    existsSync(join(ROOT, 'firmware/ports', folder, 'port.ts')),
  );
  if (!described.includes(name)) throw new Error(`--port ${name}: give one of ${described.join(', ')}`);
  const { PORT } = await import(join(ROOT, `dist/tools/firmware/ports/${name}/port.js`));
  const folder = join(ROOT, 'firmware/ports', name);
  return { ...PORT, folder, at: (names) => names.map((each) => join(folder, each)) };
}

const list = (folder, ending) =>
  readdirSync(join(ROOT, folder))
    .filter((name) => name.endsWith(ending))
    .sort()
    .map((name) => join(ROOT, folder, name));
const gcc = (port, args) =>
  execFileSync(`${port.tools}gcc`, [...port.core, ...args], { stdio: ['ignore', 'inherit', 'inherit'] });
const nm = (port, args) => execFileSync(`${port.tools}nm`, args, { encoding: 'utf8' }).trim().split('\n');
const sha256 = (bytes) => createHash('sha256').update(bytes).digest();

/** Compiles each source to an object file of its own; returns them in the order given. */
function compile(port, work, kind, sources, includes) {
  return sources.map((source) => {
    const generated = source.startsWith(work);
    const name = generated ? basename(source) : relative(ROOT, source).replaceAll('/', '-');
    const object = join(work, `${kind}-${name}.o`);
    gcc(port, [
      ...[...FLAGS, `-ffile-prefix-map=${work}=build`],
      ...(source.endsWith('.c') && !generated ? WARNINGS : []),
      ...(port.flags[basename(source)] ?? []),
      ...[...includes, work].map((path) => `-I${path}`),
      ...['-c', source, '-o', object],
    ]);
    return object;
  });
}

/** Functions that some object puts in front of the library's: those that it defines as __wrap_… */
function wraps(port, objects) {
  const lines = nm(port, ['--defined-only', ...objects]);
  const names = lines.map((line) => / T __wrap_(\w+)$/.exec(line)?.[1]).filter((found) => found !== undefined);
  return [...new Set(names)].sort().map((found) => `-Wl,--wrap=${found}`);
}

function link(port, work, kind, objects) {
  const elf = join(work, `${kind}.elf`);
  const script = join(port.folder, port.scripts[kind]);
  gcc(port, [...LINK, ...wraps(port, objects), '-T', script, ...objects, '-lgcc', '-o', elf]);
  const binary = join(work, `${kind}.bin`);
  execFileSync(`${port.tools}objcopy`, ['-O', 'binary', elf, binary]);
  return { elf, bytes: readFileSync(binary) };
}

/** Addresses of the symbols of a linked file. */
function symbols(port, elf) {
  const lines = nm(port, [elf]);
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

function build(port, work) {
  const { module_sha256, version } = generate(work);
  const [wire, box, runtime] = ['firmware/wire', 'firmware/box', 'firmware/box/runtime'].map((name) =>
    join(ROOT, name),
  );
  const shared = list('firmware/wire', '.c');
  const program = (kind, sources, includes) =>
    link(port, work, kind, compile(port, work, kind, sources, [...includes, port.folder]));

  const boot = program('boot', port.at(port.boot), []);
  const loaderSources = [...port.at(port.loader), ...list('firmware/loader', '.c'), ...shared];
  const resident = program('loader', loaderSources, [wire, join(ROOT, 'firmware/loader')]);
  const imageSources = [
    ...port.at(port.image),
    ...list('firmware/box', '.c'),
    ...port.runtime.map((name) => join(runtime, name)),
    ...[...shared, join(work, 'control.c')],
  ];
  const body = program('image', imageSources, [wire, box, runtime]);
  const at = symbols(port, body.elf);
  const static_ram = at.get('variables_end') - at.get('stack_end') + at.get('data_end') - at.get('data_begin');

  const files = new Map();
  const loaderBytes = loader(port.number, bootBlock(port.number, boot.bytes), resident.bytes);
  const imageBytes = image(port.number, body.bytes, {
    version,
    module_sha256,
    export_table: at.get('export_table') ?? 0,
  });
  files.set('loader.bin', loaderBytes);
  files.set('standoff.image', imageBytes);
  files.set('standoff.uf2', uf2(port.number, loaderBytes, imageBytes));
  const hashes = Object.fromEntries([...files].map(([name, bytes]) => [name, sha256(bytes).toString('hex')]));
  const facts = {
    version,
    module_sha256: module_sha256.toString('hex'),
    body_bytes: body.bytes.length,
    static_ram_bytes: static_ram,
  };
  files.set('hashes.json', Buffer.from(`${JSON.stringify({ ...facts, sha256: hashes }, null, 2)}\n`));
  if (static_ram > port.static_ram_most)
    throw new Error(`static memory: ${static_ram} bytes, at most ${port.static_ram_most}`);
  console.log(
    `loader ${loaderBytes.length} bytes, image body ${body.bytes.length} bytes, static memory ${static_ram} bytes`,
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

async function main() {
  const { values } = parseArgs({
    options: {
      check: { type: 'boolean', default: false },
      out: { type: 'string', default: IMAGE },
      port: { type: 'string', default: 'rp2040' },
    },
  });
  const port = await portNamed(values.port);
  const work = mkdtempSync(join(tmpdir(), 'standoff-build-'));
  try {
    const files = build(port, work);
    if (values.check) return check(files);
    const out = resolve(values.out);
    mkdirSync(out, { recursive: true });
    for (const [name, bytes] of files) writeFileSync(join(out, name), bytes);
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

await main();

/**
 * Puts the host together as it runs: command line, library and workers into dist/sim, and into dist/tools what only this
 * project runs (generator, benchmark, planted defects, what firmware/image imports).
 *
 *   node sim/generate/bundle.mjs
 *   node sim/generate/bundle.mjs --write    also writes sim/licences.gen.md
 *   node sim/generate/bundle.mjs --check    also fails unless sim/licences.gen.md lists what was bundled
 *
 * Packages with native code, workers or types of their own in the public interface stay packages (`dependencies`); what is
 * bundled is a development dependency, but for what has types in the public interface. Types are not looked at: npm run check does.
 */
import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { rolldown } from 'rolldown';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const LICENCES = join(ROOT, 'sim/licences.gen.md');
const packageOf = (folder) => JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
const { dependencies, devDependencies } = packageOf(ROOT);

const ports = readdirSync(join(ROOT, 'firmware/ports')).map((name) => `firmware/ports/${name}/port`);
const PACKAGE = ['index', 'commands/main', 'campaign/worker', 'explore/worker'];
const TOOLS = [
  ...['sim/generate/main', 'test/library/write-public-api'],
  ...[
    'test/bench/main',
    'test/bench/desk',
    'test/bench/usb-noise',
    'test/bench/hour',
    'test/bench/million',
    'test/bench/proof',
    'test/bench/hard',
    'test/bench/sweeps',
    'test/mutants/main',
    'test/mutants/worker',
    'test/mutants/suites',
  ],
  // The planted defects are judged by these; gates.test.ts is about the source, not about the module.
  ...readdirSync(join(ROOT, 'test/control'))
    .filter((name) => name.endsWith('.test.ts') && name !== 'gates.test.ts')
    .map((name) => `test/control/${name.slice(0, -'.ts'.length)}`),
  ...['firmware/wire/link-rows', 'firmware/wire/number-rows', 'sim/link/index'],
  ...ports.filter((name) => existsSync(join(ROOT, `${name}.ts`))),
];

const beginsWith = (names) => new RegExp(`^(?:${names.join('|')})(?:/|$)`);

/**
 * Bundles the entries into a folder, code that several of them need in files of its own. Their names hold the hash of their
 * contents, so that the bytes of an entry stand for all that it imports.
 * @returns {Promise<string[]>} the sources that went in
 */
async function bundle(folder, source, names, external, shimMissingExports = false) {
  const input = Object.fromEntries(names.map((name) => [name, join(ROOT, source, `${name}.ts`)]));
  const build = await rolldown({
    cwd: ROOT,
    input,
    external,
    platform: 'node',
    shimMissingExports,
    logLevel: 'warn',
    experimental: { attachDebugInfo: 'none' },
  });
  const dir = join(ROOT, folder);
  const shape = {
    dir,
    format: 'esm',
    comments: { jsdoc: false },
    entryFileNames: '[name].js',
    chunkFileNames: 'shared/[name]-[hash].js',
  };
  const { output } = await build.write(shape);
  await build.close();
  // What an earlier bundle left; declarations and modules lie there too.
  const made = new Set(output.map(({ fileName }) => fileName));
  for (const name of readdirSync(dir, { recursive: true, encoding: 'utf8' })) {
    if (name.endsWith('.js') && !made.has(name)) rmSync(join(dir, name));
  }
  return output.flatMap(({ moduleIds }) => moduleIds ?? []);
}

/** Of a package in node_modules: what it is, and its licence in full. @throws Error when it has none */
function licenceOf(name) {
  const folder = join(ROOT, 'node_modules', name);
  const { version, license } = packageOf(folder);
  const file = readdirSync(folder).find((each) => /^licen[cs]e(?:\.\w+)?$/i.test(each));
  if (license === undefined || file === undefined)
    throw new Error(`${name}: no licence in its package; do not bundle it`);
  return `## ${name} ${version}, ${license}\n\n${readFileSync(join(folder, file), 'utf8')
    .trim()
    .replace(/^(?=.)/gm, '    ')}\n`;
}

/** Of what the control module and the C that is made of it hold besides our own. */
const IN_FIRMWARE = ['assemblyscript', 'wabt'];

function licencesOf(sources) {
  const inside = sources.filter((id) => id.includes('/node_modules/')).map((id) => id.split('/node_modules/').at(-1));
  const bundled = new Set(inside.map((path) => /^(?:@[^/]+\/)?[^/]+/.exec(path)[0]));
  return [
    '<!-- Generated from what is bundled by `npm run generate`. Do not edit. -->',
    '',
    '# Licences of others',
    '',
    `Standoff itself: see LICENSE. Its host holds code of ${[...bundled].sort().join(', ')}. The control module is compiled with`,
    'the standard library of assemblyscript; the image holds C as wasm2c of wabt writes it, and functions of libgcc (GPL-3.0',
    'with the GCC Runtime Library Exception). What is installed beside it brings its licence along.',
    '',
    ...[...bundled, ...IN_FIRMWARE].sort().map(licenceOf),
  ].join('\n');
}

/** A dependency for its types, which are in the public interface; of its code a third is used: 64 of its files are languages. */
const FOR_TYPES = ['zod'];
const external = beginsWith(Object.keys(dependencies).filter((name) => !FOR_TYPES.includes(name)));
// Only this project runs the tools, with its packages beside it. They come first and take what is missing for undefined: the
// generator must run while a constant that it is about to write is not there yet.
await bundle(
  'dist/tools',
  '.',
  TOOLS,
  beginsWith([...Object.keys(dependencies), ...Object.keys(devDependencies)]),
  true,
);
const sources = await bundle('dist/sim', 'sim', PACKAGE, external);

const licences = licencesOf(sources);
if (process.argv.includes('--write')) writeFileSync(LICENCES, licences);
else if (process.argv.includes('--check') && (!existsSync(LICENCES) || readFileSync(LICENCES, 'utf8') !== licences)) {
  console.error(`${relative(ROOT, LICENCES)} does not list what is bundled; run npm run generate`);
  process.exitCode = 1;
}

/**
 * Fails when what lies here is not what was built from this source, as far as hashes tell: no compiler is needed.
 *
 *   node firmware/image/check.mjs
 *
 * Compares hashes.json with the files beside it, with the control module in dist and with the version of the package. A
 * change in the C alone it cannot see; `node firmware/image/build.mjs --check` rebuilds and compares byte for byte.
 */
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const REBUILD = 'build it again: npm run image';

/**
 * @param {string} folder with hashes.json and the files that it names
 * @param {string} module_file the control module as it is built now
 * @param {string} version of the package
 * @returns {string[]} what does not agree and what to do, one sentence each; empty when all does
 */
export function imageProblems(folder, module_file, version) {
  const hashes = JSON.parse(readFileSync(join(folder, 'hashes.json'), 'utf8'));
  const problems = Object.entries(hashes.sha256).flatMap(([name, hash]) => {
    const found = hashOf(join(folder, name));
    if (found === hash) return [];
    const what = found === undefined ? `${name} is missing` : `${name} has the hash ${found}, hashes.json says ${hash}`;
    return [`${what}; ${REBUILD}`];
  });
  const module_hash = hashOf(module_file);
  if (module_hash === undefined) problems.push(`there is no ${module_file}; build it: npm run build:module`);
  else if (module_hash !== hashes.module_sha256) {
    const what = `the image holds the module ${hashes.module_sha256}, the source gives ${module_hash}`;
    problems.push(`${what}; ${REBUILD}`);
  }
  if (hashes.version !== version) {
    problems.push(`the image says version ${hashes.version}, the package ${version}; ${REBUILD}`);
  }
  return problems;
}

const hashOf = (file) => (existsSync(file) ? createHash('sha256').update(readFileSync(file)).digest('hex') : undefined);

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const at = (path) => fileURLToPath(new URL(path, import.meta.url));
  const { version } = JSON.parse(readFileSync(at('../../package.json'), 'utf8'));
  const problems = imageProblems(at('.'), at('../../dist/firmware/control.wasm'), version);
  for (const problem of problems) process.stderr.write(`firmware/image: ${problem}\n`);
  process.exitCode = problems.length > 0 ? 1 : 0;
}

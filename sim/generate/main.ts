/** `npm run generate`: writes the generated files; with `--check` only says which of them are stale. */
import { readFileSync, writeFileSync } from 'node:fs';
import { GENERATED } from './files.js';

const check = process.argv.includes('--check');
let stale = 0;
for (const { path, source } of GENERATED) {
  let present = '';
  try {
    present = readFileSync(path, 'utf8');
  } catch {
    // A missing file is a stale one.
  }
  if (present === source()) continue;
  stale++;
  if (check) console.error(`${path} does not match the rows; run npm run generate`);
  else writeFileSync(path, source());
}
process.exitCode = check && stale > 0 ? 1 : 0;

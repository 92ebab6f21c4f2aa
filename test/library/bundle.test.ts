import { execFileSync, spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { ROOT } from './public-api.js';

const folder = mkdtempSync(join(tmpdir(), 'standoff-bundle-'));
for (const name of ['package.json', 'firmware', 'sim', 'test']) {
  cpSync(join(ROOT, name), join(folder, name), { recursive: true });
}
symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'));
afterAll(() => rmSync(folder, { recursive: true }));

const at = (path: string) => readFileSync(join(folder, path), 'utf8');

/** The worker of a campaign, bundled with another text in place of one that stands in a source. */
function workerWith(path = 'package.json', text = '', other = ''): string {
  const before = at(path);
  expect(before).toContain(text);
  writeFileSync(join(folder, path), before.replace(text, other));
  execFileSync(process.execPath, ['sim/generate/bundle.mjs'], { cwd: folder, stdio: 'pipe' });
  writeFileSync(join(folder, path), before);
  return at('dist/sim/campaign/worker.js');
}

describe('the bundle', () => {
  const worker = workerWith();

  it('is the same in another folder, file by file', () => {
    const made = (from: string) =>
      readdirSync(join(from, 'dist/sim'), { recursive: true, encoding: 'utf8' })
        .filter((name) => name.endsWith('.js'))
        .sort();
    expect(made(folder)).toEqual(made(ROOT));
    for (const name of made(folder)) {
      expect(at(`dist/sim/${name}`) === readFileSync(join(ROOT, 'dist/sim', name), 'utf8'), name).toBe(true);
    }
  });

  it('has another worker where the world is another one, and the same where only a command is', () => {
    const command = "summary: 'try the settings on many random cuts'";
    expect(workerWith('sim/commands/main.ts', command, "summary: 'try'")).toBe(worker);
    expect(
      workerWith('sim/base/numbers.ts', 'export const TICKS_PER_S = 1000', 'export const TICKS_PER_S = 999'),
    ).not.toBe(worker);
    expect(workerWith('sim/world/motion/speeds.ts', 'const NO_TURN = 1e-9', 'const NO_TURN = 2e-9')).not.toBe(worker);
  });

  it('is refused by the check while a package in it is not among the licences', () => {
    const licences = at('sim/licences.gen.md');
    const check = () =>
      spawnSync(process.execPath, ['sim/generate/bundle.mjs', '--check'], { cwd: folder, encoding: 'utf8' });
    expect(check()).toMatchObject({ status: 0, stderr: '' });
    writeFileSync(join(folder, 'sim/licences.gen.md'), licences.replace(/^## yaml [\s\S]*/m, ''));
    expect(check()).toMatchObject({ status: 1, stderr: expect.stringContaining('npm run generate') });
  });
});

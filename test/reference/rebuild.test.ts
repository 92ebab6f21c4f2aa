import { execFileSync, spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { ARM_GCC } from '../firmware/port-board.js';
import { VOLUME } from '../support/volume.js';
import { describeAgainst } from './support.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** A checkout elsewhere, as far as the build looks at it. */
function elsewhere(name: string): string {
  const folder = join(mkdtempSync(join(tmpdir(), 'standoff-rebuild-')), name);
  mkdirSync(folder);
  cpSync(join(ROOT, 'firmware'), join(folder, 'firmware'), { recursive: true });
  cpSync(join(ROOT, 'dist/firmware'), join(folder, 'dist/firmware'), { recursive: true });
  cpSync(join(ROOT, 'dist/tools'), join(folder, 'dist/tools'), { recursive: true });
  cpSync(join(ROOT, 'package.json'), join(folder, 'package.json'));
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'));
  return folder;
}

function build(folder: string): Map<string, Buffer> {
  const out = join(folder, 'out');
  execFileSync(process.execPath, [join(folder, 'firmware/image/build.mjs'), '--out', out], { stdio: 'pipe' });
  return new Map(readdirSync(out).map((name) => [name, readFileSync(join(out, name))]));
}

/** What `--check` says there, on either channel. */
function check(folder: string): string {
  const run = spawnSync(process.execPath, [join(folder, 'firmware/image/build.mjs'), '--check'], { encoding: 'utf8' });
  return run.status === 0 ? run.stdout.replace(/^loader .*\n/, '') : run.stderr;
}

describeAgainst(ARM_GCC, 'the build of image and loader', () => {
  it('gives the same bytes in two directories, and says which file is not what the source gives', {
    timeout: 240_000,
  }, () => {
    const other = elsewhere('a longer name');
    if (VOLUME) {
      const one = build(elsewhere('one'));
      expect([...one.keys()].sort()).toEqual(['hashes.json', 'loader.bin', 'standoff.image', 'standoff.uf2']);
      for (const [name, bytes] of one) writeFileSync(join(other, 'firmware/image', name), bytes);
      expect(check(other)).toBe('firmware/image is what this source gives, byte for byte\n');
    }

    const source = join(other, 'firmware/ports/rp2040/loader/main.c');
    const text = readFileSync(source, 'utf8');
    expect(text).toContain('150000u');
    writeFileSync(source, text.replace('150000u', '150001u'));
    // What is shipped was built in another directory: the image is the same here.
    const said = check(other);
    expect(said).toMatch(/loader\.bin is not what this source gives/);
    expect(said).not.toMatch(/standoff\.image is not/);
  });
});

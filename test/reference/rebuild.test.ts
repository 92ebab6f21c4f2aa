import { execFileSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { describeAgainst, type ReferenceProgram } from './support.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const ARM_GCC: ReferenceProgram = {
  name: 'arm-none-eabi-gcc',
  debian: 'gcc-arm-none-eabi',
  command: 'arm-none-eabi-gcc',
  probe: ['--version'],
};

/** A checkout elsewhere, as far as the build looks at it. */
function elsewhere(name: string): string {
  const folder = join(mkdtempSync(join(tmpdir(), 'standoff-rebuild-')), name);
  mkdirSync(folder);
  cpSync(join(ROOT, 'firmware'), join(folder, 'firmware'), { recursive: true });
  cpSync(join(ROOT, 'dist/firmware'), join(folder, 'dist/firmware'), { recursive: true });
  cpSync(join(ROOT, 'package.json'), join(folder, 'package.json'));
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'));
  return folder;
}

function build(folder: string): Map<string, Buffer> {
  const out = join(folder, 'out');
  execFileSync(process.execPath, [join(folder, 'firmware/board/build.mjs'), '--out', out], { stdio: 'pipe' });
  return new Map(readdirSync(out).map((name) => [name, readFileSync(join(out, name))]));
}

describeAgainst(ARM_GCC, 'the build of image and loader', () => {
  it('gives the same bytes in two directories', { timeout: 180_000 }, () => {
    const one = build(elsewhere('one'));
    const other = build(elsewhere('a longer name'));
    expect([...one.keys()].sort()).toEqual(['hashes.json', 'loader.bin', 'standoff.image', 'standoff.uf2']);
    for (const [name, bytes] of one) expect(other.get(name)?.equals(bytes), name).toBe(true);
  });

  it('says which file is not what the source gives', { timeout: 180_000 }, () => {
    const folder = elsewhere('changed');
    const files = build(folder);
    const image = join(folder, 'firmware/image');
    mkdirSync(image, { recursive: true });
    for (const name of files.keys()) cpSync(join(folder, 'out', name), join(image, name));
    const check = (): string => {
      try {
        execFileSync(process.execPath, [join(folder, 'firmware/board/build.mjs'), '--check'], { stdio: 'pipe' });
        return 'the same';
      } catch (error) {
        return (error as { stderr: Buffer }).stderr.toString();
      }
    };
    expect(check()).toBe('the same');
    const source = join(folder, 'firmware/loader/main.c');
    cpSync(source, `${source}.txt`);
    execFileSync('sed', ['-i', 's/150000u/150001u/', source]);
    expect(check()).toMatch(/loader\.bin is not what this source gives/);
  });
});

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { standoff } from './command.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const scripts = (JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { scripts: Record<string, string> })
  .scripts;

/** What a user types, or what runs when a user installs; the others are for who works on this project. */
const FOR_USERS = [
  'start',
  'build',
  'build:module',
  'build:host',
  'types',
  'prepare',
  'prepack',
  'test',
  'test:volume',
  'bench',
];

/** What the shell of one system knows and that of another does not. */
const ONE_SHELL: readonly (readonly [what: string, pattern: RegExp])[] = [
  ['a variable that is set for one command', /(^|&& *)[A-Z_]+=/],
  ['a variable', /[$%]/],
  ['a semicolon', /;/],
  ['single quotes', /'/],
  ['a command by its path', /(^|&& *)\.{0,2}\//],
  ['a command that not every system has', /(^|&& *)(rm|cp|mv|cat|bash|sh|sed|export|mkdir) /],
  ['a pipe or a file of the shell', /[|<>]/],
];

/** Every file below a folder, from the root of the project. */
const files = (folder: string): string[] =>
  readdirSync(join(ROOT, folder), { withFileTypes: true }).flatMap((entry) =>
    entry.isDirectory() ? files(join(folder, entry.name)) : [join(folder, entry.name)],
  );

describe('what a user types', () => {
  it.each(FOR_USERS)('npm run %s needs no shell of one system', (name) => {
    expect(scripts[name], name).toBeDefined();
    for (const [what, pattern] of ONE_SHELL) expect(scripts[name], what).not.toMatch(pattern);
  });

  it('finds no file by the text of an address: that has a slash too many on some systems', () => {
    const wrong = files('sim')
      .filter((name) => name.endsWith('.ts') || name.endsWith('.mjs'))
      .filter((name) => /import\.meta\.url\)\.pathname/.test(readFileSync(join(ROOT, name), 'utf8')));
    expect(wrong).toEqual([]);
  });

  it('begins with npx in the README, and needs no other shell either', () => {
    const lines = readFileSync(join(ROOT, 'README.md'), 'utf8')
      .split('\n')
      .filter((line) => /^ {4}(npx|npm) /.test(line))
      .map((line) => line.trim().replace(/ +# .*/, ''));
    expect(lines.length).toBeGreaterThan(2);
    for (const line of lines) for (const [what, pattern] of ONE_SHELL) expect(line, what).not.toMatch(pattern);
  });
});

describe('standoff --version', () => {
  it('has the hash of the control module, which stands for all that a box does', async () => {
    const { status, stdout } = await standoff(ROOT, '--version');
    expect([status, stdout]).toEqual([0, expect.stringMatching(/^\d+\.\d+\.\d+\ncontrol module [0-9a-f]{64}\n$/)]);
  });
});

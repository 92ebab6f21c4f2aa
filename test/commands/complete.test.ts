import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { folderWith, standoff } from './command.js';

const folder = folderWith({});

/** What may go on from these words, and the bits for the shell. */
async function answer(...words: string[]): Promise<readonly [words: string[], bits: number]> {
  const { stdout, stderr, status } = await standoff(folder, 'complete', '--', ...words);
  expect([stderr, status]).toEqual(['', 0]);
  const lines = stdout.trimEnd().split('\n');
  return [lines.slice(0, -1).map((line) => line.split('\t')[0]), Number(lines.at(-1)?.replace(/^:/, ''))];
}

describe('what the Tab key asks', () => {
  it.each([
    [['simu'], ['simulate'], 4],
    [['simulate', '--st'], ['--store', '--still'], 4],
    [['box', ''], ['show', 'events', 'set', 'trim', 'load', 'save', 'desk', 'restart'], 4],
    [['box', '--port', 'COM3', 'sa'], ['save'], 4],
    [['box', 'set', 'pierce_m'], ['pierce_ms='], 6],
    [['simulate', '--set', 'pierce_ms=400', '--set', 'world.noise.pick'], ['world.noise.pickup_V_peak='], 6],
    [['supply', '--tap', 'm'], ['measured'], 4],
    [['simulate', '--seed', ''], [], 4],
    [['simulate', '--setup', ''], [], 0],
    [['simulate', 'ga'], [], 0],
    [['no-command', ''], [], 0],
    [['complete', 'f'], ['fish'], 4],
  ] as const)('%j: %j, bits %d', async (words, expected, bits) => {
    expect(await answer(...words)).toEqual([expected, bits]);
  });

  it('knows every command of the help', async () => {
    const { stdout } = await standoff(folder, '--help');
    const [words] = await answer('');
    for (const word of words) expect(stdout).toMatch(new RegExp(`^ {2}${word} `, 'm'));
    expect(words.length).toBe([...stdout.matchAll(/^ {2}[a-z-]+ {2}/gm)].length - 1);
  });
});

describe('the script for a shell', () => {
  it('completes a command in bash', () => {
    const main = fileURLToPath(new URL('../../dist/sim/commands/main.js', import.meta.url));
    // What bash's own package for completions gives, and what only an interactive shell has.
    const typed = `
      _get_comp_words_by_ref() { cur=\${COMP_WORDS[COMP_CWORD]}; words=("\${COMP_WORDS[@]}"); }
      compopt() { echo "compopt $*"; }
      standoff() { ${JSON.stringify(process.execPath)} ${JSON.stringify(main)} "$@"; }
      eval "$(standoff complete bash)"
      COMP_WORDS=(standoff simulate --set target_f); COMP_CWORD=3
      __standoff_complete
      echo "\${COMPREPLY[@]}"
      complete -p standoff`;
    const { stdout, stderr } = spawnSync('bash', ['-c', typed], { encoding: 'utf8' });
    expect(stderr).toBe('');
    expect(stdout.trimEnd().split('\n')).toEqual([
      'compopt -o nospace',
      'compopt +o default',
      'target_feed_mm_s=',
      'complete -o default -F __standoff_complete standoff',
    ]);
  });

  it.each(['zsh', 'fish', 'powershell'])('is there for %s', async (shell) => {
    const { status, stdout } = await standoff(folder, 'complete', shell);
    expect(status).toBe(0);
    expect(stdout).toMatch(/standoff complete '?--/);
  });

  it.each([[[]], [['tcsh']], [['bash', 'zsh']]])('is refused with %j', async (words) => {
    const { status, stderr } = await standoff(folder, 'complete', ...words);
    expect([status, stderr]).toEqual([2, expect.stringContaining('standoff complete --help')]);
  });
});

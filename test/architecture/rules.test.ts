import { describe, expect, it } from 'vitest';
import { circles, importGraph, onlyNeighbours, type SourceFile, specifiersOf } from './graph.js';
import {
  directionErrors,
  folderErrors,
  indexErrors,
  indexPassed,
  lengthErrors,
  lockErrors,
  topLevelErrors,
  wordErrors,
} from './rules.js';

/** A file that imports this. */
const importing = (path: string, specifier: string): SourceFile => ({
  path,
  source: `import { something } from '${specifier}';\n`,
});

describe('reading imports', () => {
  it('finds each form, over several lines too, and none in a comment', () => {
    const source = [
      "import { a } from './a.js';",
      "import type { B } from '../b/index.js';",
      'import {',
      '  c,',
      '  type D,',
      '} from "./c.js";',
      "import './bare.js';",
      "export * from './e.js';",
      "export type { F } from './f.js';",
      "const late = await import('./late.js');",
      "// import { no } from './no.js';",
      "/* import { no } from './no.js'; */",
      "const text = 'from here';",
    ].join('\n');
    expect(specifiersOf(source)).toEqual([
      './a.js',
      '../b/index.js',
      './c.js',
      './bare.js',
      './e.js',
      './f.js',
      './late.js',
    ]);
  });
});

describe('the directions', () => {
  it.each([
    ['sim/world/plant/world.ts', '../../../firmware/wire/layout.js'],
    ['sim/world/motion/player.ts', '../../../firmware/wire/codes.gen.js'],
    ['sim/world/plant/world.ts', '../motion/index.js'],
    ['sim/world/plant/world.ts', '../../run/loop/index.js'],
    ['sim/base/numbers.ts', '../world/plant/index.js'],
    ['sim/base/numbers.ts', 'node:fs'],
    ['sim/world/plant/noise.ts', 'some-package'],
    ['sim/run/trace/columns.ts', '../loop/index.js'],
    ['sim/run/controller/wasm.ts', '../../world/plant/index.js'],
    ['sim/judge/requirement.ts', '../world/plant/index.js'],
    ['sim/views/terminal/frame.ts', '../../run/loop/index.js'],
    ['sim/run/loop/runner.ts', '../../judge/index.js'],
    ['sim/run/loop/runner.ts', '../../emulator/index.js'],
    ['sim/emulator/board.ts', '../world/plant/index.js'],
    ['sim/views/terminal/frame.ts', '../../commands/base/exit.js'],
    ['sim/commands/cut/simulate.ts', '../box/watch.js'],
    ['sim/index.ts', './commands/main.js'],
    ['sim/commands/main.ts', '../../test/control/rig.js'],
    ['sim/commands/main.ts', '../../firmware/control/state'],
    ['sim/run/loop/runner.ts', '../../../test/control/rig.js'],
    ['firmware/wire/layout.ts', '../control/state'],
    ['firmware/wire/generator.ts', 'node:fs'],
    ['firmware/control/guard.ts', '../../sim/base/numbers'],
    ['firmware/control/guard.ts', 'assemblyscript'],
    ['sim/other/new.ts', './anything.js'],
    ['sim/run/new.ts', './anything.js'],
  ])('forbid %s to import %s', (path, specifier) => {
    expect(directionErrors(importing(path, specifier))).toHaveLength(1);
  });

  it.each([
    ['sim/world/plant/world.ts', '../../base/index.js'],
    ['sim/world/plant/world.ts', './arc.js'],
    ['sim/run/loop/runner.ts', '../../../firmware/wire/layout.js'],
    ['sim/run/controller/wasm.ts', 'node:crypto'],
    ['sim/commands/main.ts', './cut/simulate.js'],
    ['sim/commands/cut/simulate.ts', '../base/exit.js'],
    ['sim/commands/cut/simulate.ts', '../../run/loop/index.js'],
    ['sim/index.ts', './run/loop/index.js'],
    ['firmware/control/guard.ts', '../wire/codes.gen'],
    ['firmware/control/guard.ts', './state'],
    ['test/control/guard.test.ts', '../../sim/commands/main.js'],
  ])('let %s import %s', (path, specifier) => {
    expect(directionErrors(importing(path, specifier))).toEqual([]);
  });

  it('see a type import and a re-export as well', () => {
    const typed = { path: 'sim/world/plant/a.ts', source: "import type { A } from '../../run/loop/index.js';\n" };
    const shown = { path: 'sim/world/plant/a.ts', source: "export * from '../../run/loop/index.js';\n" };
    expect(directionErrors(typed)).toHaveLength(1);
    expect(directionErrors(shown)).toHaveLength(1);
  });

  it('let nobody go past the index of another folder, where it has one', () => {
    const paths = new Set(['sim/base/index.ts', 'sim/base/error.ts', 'sim/commands/base/exit.ts']);
    const past = (path: string, specifier: string) => indexPassed(importing(path, specifier), paths);
    expect(past('sim/link/line.ts', '../base/error.js')).toHaveLength(1);
    expect(past('sim/link/line.ts', '../base/index.js')).toEqual([]);
    expect(past('sim/base/numbers.ts', './error.js')).toEqual([]);
    expect(past('sim/commands/cut/simulate.ts', '../base/exit.js')).toEqual([]);
  });
});

describe('the graph', () => {
  const file = (path: string, ...specifiers: string[]): SourceFile => ({
    path,
    source: specifiers.map((specifier) => `import '${specifier}';\n`).join(''),
  });

  it('shows a circle, a longer one too, and none where there is none', () => {
    const chain = [file('sim/a/a.ts', './b.js'), file('sim/a/b.ts', '../c/c.js'), file('sim/c/c.ts')];
    expect(circles(importGraph(chain))).toEqual([]);
    const closed = [...chain.slice(0, 2), file('sim/c/c.ts', '../a/a.js')];
    expect(circles(importGraph(closed))).toEqual([['sim/a/a.ts', 'sim/a/b.ts', 'sim/c/c.ts']]);
  });

  it('shows what only one neighbour imports', () => {
    const files = [file('sim/a/a.ts', './b.js', './d.js'), file('sim/a/b.ts'), file('sim/c/c.ts', '../a/d.js')];
    expect(onlyNeighbours(importGraph([...files, file('sim/a/d.ts')]))).toEqual([
      { path: 'sim/a/b.ts', by: 'sim/a/a.ts' },
    ]);
  });
});

describe('the other rules', () => {
  it('refuse another folder on the top level, and let dotfiles be', () => {
    expect(topLevelErrors(['src', '.ci', 'sim', 'package-lock.json', 'notes.md'])).toEqual([
      'src is not for the top level',
      'notes.md is not for the top level',
    ]);
  });

  it('refuse an index that does something', () => {
    const path = 'sim/base/index.ts';
    const good =
      "/** The folder. */\nexport * from './a.js';\nexport { b, type C } from './b.js';\nexport type { D } from './d.js';\n";
    expect(indexErrors({ path, source: good })).toEqual([]);
    expect(indexErrors({ path, source: `${good}export const five = 5;\n` })).toHaveLength(1);
    expect(indexErrors({ path, source: `import './a.js';\n${good}` })).toHaveLength(1);
    expect(indexErrors({ path: 'sim/base/other.ts', source: 'const x = 1;' })).toEqual([]);
  });

  it('refuse a folder of 21 files, headers and generated ones not counted', () => {
    const files = (n: number) => Array.from({ length: n }, (_, i) => `sim/a/${i}.ts`);
    expect(folderErrors(files(21))).toEqual(['sim/a: 21 files, at most 20']);
    expect(folderErrors([...files(20), 'sim/a/x.gen.ts'])).toEqual([]);
    expect(
      folderErrors(['c', 'h'].flatMap((end) => Array.from({ length: 20 }, (_, i) => `firmware/a/${i}.${end}`))),
    ).toEqual([]);
  });

  it('refuse a file of 351 lines, unless it is generated or no code', () => {
    const of = (path: string, lines: number) => lengthErrors({ path, source: 'x\n'.repeat(lines) });
    expect(of('sim/a.ts', 351)).toHaveLength(1);
    expect(of('test/a.mjs', 351)).toHaveLength(1);
    expect(of('sim/a.ts', 350)).toEqual([]);
    expect(of('firmware/a.gen.ts', 900)).toEqual([]);
    expect(of('README.md', 900)).toEqual([]);
  });

  // Put together here, so that this file itself keeps the rules.
  it.each([
    ['unfinished work', `// ${'TO'}${'DO'}: later`],
    ['unfinished work', `// ${'FIX'}${'ME'}`],
    ['a registry', `https://registry.${'example'}.org/x`],
    ['a registry', `www.npm${'js'}.com`],
    ['a path of one machine', `const file = '/${'home'}/me/x.nc';`],
    ['a path of one machine', `cd /${'tmp'}/x`],
    ['a test left out', `it.${'skip'}('x', () => {});`],
    ['a test that alone runs', `describe.${'only'}('x', () => {});`],
  ])('refuse %s: %s', (_, line) => {
    expect(wordErrors({ path: 'test/a.test.ts', source: `fine\n${line}\n` })[0]).toMatch(/^test\/a\.test\.ts:2: /);
  });

  it('let ordinary lines pass', () => {
    const source = 'import x from "../../sim/base/index.js"; // a/home, index.d.ts, registry of rows\n';
    expect(wordErrors({ path: 'sim/a.ts', source })).toEqual([]);
  });

  it('refuse a lock file that says where a package came from', () => {
    const lock = (resolved?: string) =>
      JSON.stringify({ packages: { '': {}, 'node_modules/a': resolved === undefined ? {} : { resolved } } });
    expect(lockErrors({ path: 'package-lock.json', source: lock('somewhere') })).toHaveLength(1);
    expect(lockErrors({ path: 'package-lock.json', source: lock() })).toEqual([]);
    expect(lockErrors({ path: 'other.json', source: lock('somewhere') })).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import {
  directionErrors,
  importsOf,
  indexErrors,
  lengthErrors,
  lockErrors,
  type SourceFile,
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
    expect(importsOf(source)).toEqual([
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
    ['sim/plant/world.ts', '../../firmware/wire/layout.gen.js'],
    ['sim/motion/player.ts', '../../firmware/wire/codes.gen.js'],
    ['sim/plant/world.ts', '../motion/index.js'],
    ['sim/base/units.ts', '../plant/index.js'],
    ['sim/base/units.ts', 'node:fs'],
    ['sim/plant/noise.ts', 'some-package'],
    ['sim/trace/columns.ts', '../loop/index.js'],
    ['sim/controller/wasm.ts', '../plant/index.js'],
    ['sim/properties/law.ts', '../plant/index.js'],
    ['sim/report/frame.ts', '../loop/index.js'],
    ['sim/setup/setup.ts', '../report/index.js'],
    ['sim/loop/runner.ts', '../properties/index.js'],
    ['sim/report/frame.ts', '../cli/exit.js'],
    ['sim/index.ts', './cli/main.js'],
    ['sim/cli/main.ts', '../../test/control/bench.js'],
    ['sim/cli/main.ts', '../../firmware/control/state'],
    ['sim/loop/runner.ts', '../../test/control/bench.js'],
    ['firmware/wire/layout.gen.ts', '../control/state'],
    ['firmware/wire/generator.ts', 'node:fs'],
    ['firmware/control/guard.ts', '../../sim/base/units'],
    ['firmware/control/guard.ts', 'assemblyscript'],
    ['sim/other/new.ts', './anything.js'],
  ])('forbid %s to import %s', (path, specifier) => {
    expect(directionErrors(importing(path, specifier))).toHaveLength(1);
  });

  it.each([
    ['sim/plant/world.ts', '../base/index.js'],
    ['sim/plant/world.ts', './arc.js'],
    ['sim/loop/runner.ts', '../../firmware/wire/layout.gen.js'],
    ['sim/controller/wasm.ts', 'node:crypto'],
    ['sim/cli/main.ts', '../loop/index.js'],
    ['sim/index.ts', './loop/index.js'],
    ['sim/generate/main.ts', 'node:fs'],
    ['sim/generate/trace.ts', '../trace/index.js'],
    ['firmware/control/guard.ts', '../wire/codes.gen'],
    ['firmware/control/guard.ts', './state'],
    ['test/control/guard.test.ts', '../../sim/cli/main.js'],
  ])('let %s import %s', (path, specifier) => {
    expect(directionErrors(importing(path, specifier))).toEqual([]);
  });

  it('see a type import and a re-export as well', () => {
    const typed = { path: 'sim/plant/a.ts', source: "import type { A } from '../loop/index.js';\n" };
    const shown = { path: 'sim/plant/a.ts', source: "export * from '../loop/index.js';\n" };
    expect(directionErrors(typed)).toHaveLength(1);
    expect(directionErrors(shown)).toHaveLength(1);
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
      "/** The room. */\nexport * from './a.js';\nexport { b, type C } from './b.js';\nexport type { D } from './d.js';\n";
    expect(indexErrors({ path, source: good })).toEqual([]);
    expect(indexErrors({ path, source: `${good}export const five = 5;\n` })).toHaveLength(1);
    expect(indexErrors({ path, source: `import './a.js';\n${good}` })).toHaveLength(1);
    expect(indexErrors({ path: 'sim/base/other.ts', source: 'const x = 1;' })).toEqual([]);
  });

  it('refuse a file of 401 lines, unless it is generated or no code', () => {
    const of = (path: string, lines: number) => lengthErrors({ path, source: 'x\n'.repeat(lines) });
    expect(of('sim/a.ts', 401)).toHaveLength(1);
    expect(of('test/a.mjs', 401)).toHaveLength(1);
    expect(of('sim/a.ts', 400)).toEqual([]);
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

import { describe, expect, it } from 'vitest';
import { GENERATED } from '../../sim/generate/files.js';
import { projectFiles, topLevel } from './files.js';
import { directionErrors, indexErrors, lengthErrors, lockErrors, topLevelErrors, wordErrors } from './rules.js';

const files = projectFiles();
const code = files.filter(({ path }) => /^(?:firmware|sim|test)\/.*\.ts$/.test(path));

describe('the project', () => {
  it('was read: firmware, host and tests', () => {
    for (const part of ['firmware/wire/', 'firmware/control/', 'sim/world/plant/', 'sim/run/loop/', 'test/control/']) {
      expect(code.filter(({ path }) => path.startsWith(part)).length, part).toBeGreaterThan(2);
    }
  });

  it('has nothing else on its top level', () => expect(topLevelErrors(topLevel())).toEqual([]));

  it('imports only in the directions of the folders', () => expect(code.flatMap(directionErrors)).toEqual([]));

  it('has indexes that only re-export', () => expect(code.flatMap(indexErrors)).toEqual([]));

  it('has no file that cannot be read in a sitting', () => expect(files.flatMap(lengthErrors)).toEqual([]));

  it('has no unfinished work, no registry, no path of one machine, no test left out', () => {
    expect(files.flatMap(wordErrors)).toEqual([]);
  });

  it('does not say in its lock file where packages came from', () => expect(files.flatMap(lockErrors)).toEqual([]));

  it.each(GENERATED)('has $path as its rows make it', ({ path, source }) => {
    expect(files.find((file) => file.path === path)?.source).toBe(source());
  });

  it('has no other generated file than those', () => {
    const generated = files.map(({ path }) => path).filter((path) => /\.gen\.\w+$/.test(path));
    // The report of the public types comes from the declarations as built; a test of its own compares it.
    const known = [...GENERATED.map(({ path }) => path), 'test/library/public-api.gen.md'];
    expect(generated.sort()).toEqual(known.sort());
  });
});

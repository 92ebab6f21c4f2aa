import { describe, expect, it } from 'vitest';
import { GENERATED } from '../../sim/generate/files.js';
import { projectFiles, topLevel } from './files.js';
import { circles, importGraph, onlyNeighbours } from './graph.js';
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

const files = projectFiles();
const code = files.filter(({ path }) => /^(?:firmware|sim|test)\/.*\.ts$/.test(path));

/** More of them, and the cut between files follows no idea. */
const MOST_ALONE = 30;

describe('the project', () => {
  it('was read: firmware, host and tests', () => {
    for (const part of ['firmware/wire/', 'firmware/control/', 'sim/world/plant/', 'sim/run/loop/', 'test/control/']) {
      expect(code.filter(({ path }) => path.startsWith(part)).length, part).toBeGreaterThan(2);
    }
  });

  it('has nothing else on its top level', () => expect(topLevelErrors(topLevel())).toEqual([]));

  it('imports only in the directions of the folders', () => expect(code.flatMap(directionErrors)).toEqual([]));

  it('goes past no index of another folder', () => {
    const paths = new Set(code.map(({ path }) => path));
    expect(code.flatMap((file) => indexPassed(file, paths))).toEqual([]);
  });

  it('has no circle of imports', () => expect(circles(importGraph(code))).toEqual([]));

  it('has no folder that cannot be seen at a glance', () => {
    expect(folderErrors(files.map(({ path }) => path))).toEqual([]);
  });

  it('says in the first comment of a file why it stands alone, where only one neighbour imports it', () => {
    const alone = onlyNeighbours(importGraph(code));
    const unsaid = alone.filter(({ path }) => {
      const { source } = files.find((file) => file.path === path)!;
      return !/^(?:\/\/|\/\*\*?)/.test(source);
    });
    expect(unsaid).toEqual([]);
    expect(alone.length, alone.map(({ path }) => path).join(' ')).toBeLessThanOrEqual(MOST_ALONE);
  });

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
    // The report of the public types comes from the declarations as built, the licences from what is bundled; a test and a check
    // of their own compare them.
    const known = [...GENERATED.map(({ path }) => path), 'test/library/public-api.gen.md', 'sim/licences.gen.md'];
    expect(generated.sort()).toEqual(known.sort());
  });
});

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { exploreText } from '../../sim/commands/prove/explore.js';
import { type ExploreResult, NOT_REACHED, neverReached } from '../../sim/explore/index.js';
import { buildModule } from '../mutants/build.js';
import { MUTANTS } from '../mutants/rows.js';
import { type Ended, ended, folderWith, standoff, start } from './command.js';

/** A step is lost, the guard lets a permit stay, and a wrong way is no fault any more: in three files. */
const DEFECTS = ['handed-back-beside', 'guard-keeps-permit', 'wrong-way-sign'];
const folder = folderWith({
  'defects.wasm': await buildModule(...MUTANTS.filter(({ name }) => DEFECTS.includes(name))),
});
const joined = (text: string) => text.replace(/\s+/g, ' ');
/** Some seconds of one core, which other tests may share. */
const LONG_MS = 900_000;

describe('standoff explore', () => {
  it(
    'says what was tried and what was not, and writes the graph',
    async () => {
      const { status, stdout, stderr } = await standoff(folder, 'explore', '--graph', 'modes.mmd');
      expect([status, stderr]).toEqual([0, '']);
      expect(joined(stdout)).toContain('invariants held in every tick');
      const [, all, seconds, memory_MB] = /, ([\d.]+) million ticks .* in ([\d.]+) s \((\d+) MB/.exec(joined(stdout))!;
      expect([seconds, memory_MB].every((figure) => Number(figure) > 0)).toBe(true);
      const [, run] = /([\d.]+) million of these ticks were run\./.exec(joined(stdout))!;
      expect(Number(run)).toBeLessThan(Number(all) / 3);
      expect(joined(stdout)).toContain('Nothing got past it.');
      expect(joined(stdout)).toContain('every timer just begun and run out');
      expect(joined(stdout)).toContain('Not tried: other parameters than these and those that the box comes with');
      expect(readFileSync(join(folder, 'modes.mmd'), 'utf8')).toMatch(/^stateDiagram-v2\n/);
    },
    LONG_MS,
  );

  it(
    'finds a broken invariant, what got past the guard though the sequence never tries it, and what can no longer come about',
    async () => {
      const { status, stdout } = await standoff(folder, 'explore', '--module', 'defects.wasm', '--json');
      expect(status).toBe(1);
      const { format, results } = JSON.parse(stdout) as { format: string; results: ExploreResult[] };
      expect([format, results.length]).toEqual(['standoff exploration 3', 6]);
      for (const { violations, guard } of results) {
        expect(new Set(violations.map(({ invariant }) => invariant))).toEqual(new Set(['hand-back-place']));
        expect(guard.broken).toContain('permit-needs-trigger');
      }
      expect(neverReached(results).filter((word) => NOT_REACHED[word] === undefined)).toEqual(['fault wrong-way']);

      const text = exploreText(results, { wall_ms: 0, memory_MB: 0 }, 60);
      expect(joined(text)).toContain(
        'BROKEN: hand-back-place: Z is handed back where it was taken over, to the step, unless it must be homed.',
      );
      expect(joined(text)).toMatch(
        /5\. Z is a step below .* -> rest, Z handed back Replayed .*: confirmed, the invariant breaks after/,
      );
      expect(joined(text)).toContain('BROKEN: permit-needs-trigger');
      expect(joined(text)).toContain('NEVER REACHED: fault wrong-way.');
      expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(60);
    },
    LONG_MS,
  );

  it(
    'ends by Ctrl-C with a sentence and no result',
    async () => {
      // The threads are at it by then, and an exploration takes much longer. Killed before it takes the signal itself, on
      // a busy machine, it has no status: then again, and later.
      let last: Ended | undefined;
      for (const after_ms of [1500, 6000, 20_000, 60_000]) {
        const child = start(folder, ['explore', '--json', '--workers', '1', '--module', 'defects.wasm']);
        const end = ended(child);
        await wait(after_ms);
        child.kill('SIGINT');
        last = await end;
        if (last.status !== null) break;
      }
      const { status, stdout, stderr } = last!;
      expect([status, stdout, stderr]).toEqual([130, '', expect.stringContaining('broken off')]);
    },
    LONG_MS,
  );
});

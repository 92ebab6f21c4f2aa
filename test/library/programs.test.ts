import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { describe, expect, it } from 'vitest';
import { loadControlModule, PARAMETER_COUNT } from '../../sim/index.js';
import { Emulation } from '../emulator/emulation.js';

const FOLDER = fileURLToPath(new URL('../../dist/test/library/', import.meta.url));

/** Runs a program as built, in a process of its own, in which `standoff` is the package. @returns what it printed */
async function printed<T>(program: string, ...args: readonly string[]): Promise<T> {
  const { stdout } = await promisify(execFile)(process.execPath, [`${FOLDER}${program}.js`, ...args]);
  return JSON.parse(stdout) as T;
}

describe('a program that uses the package as a stranger would', () => {
  it('cuts with controllers of its own: late Z steps follow worse, a late trigger breaks its requirement', async () => {
    interface Cut {
      readonly ended: string;
      readonly rms_mm: number;
      readonly broken: readonly string[];
    }
    const { prompt, late, held } = await printed<Record<'prompt' | 'late' | 'held', Cut>>('own-controller');
    expect(prompt).toMatchObject({ ended: 'finished', broken: [] });
    expect(late.rms_mm).toBeGreaterThan(1.2 * prompt.rms_mm);
    expect(held.broken).toContain('trigger-withdrawal');
  });

  it('runs a campaign with requirements of its own: each cut is judged by them, in the workers', async () => {
    interface Tally {
      readonly unit: string;
      readonly tested: number;
      readonly broken: number;
    }
    const ran = await printed<{ cases: number; wide: Tally; narrow: Tally }>('own-requirement');
    expect(ran.cases).toBe(6);
    // A random cut whose arc never transfers does not follow.
    expect(ran.wide.tested).toBeGreaterThanOrEqual(4);
    expect(ran.wide).toMatchObject({ unit: 'mm', broken: 0 });
    expect(ran.narrow).toMatchObject({ tested: ran.wide.tested, broken: ran.wide.tested });
  });

  it('is a client of a box: reads, changes and is refused', async () => {
    const folder = mkdtempSync(`${tmpdir()}/standoff-library-`);
    const emulation = await Emulation.start(folder);
    try {
      const seen = await printed<Record<string, unknown>>('box-client', emulation.address);
      expect(seen).toMatchObject({
        in_loader: false,
        module_sha256: loadControlModule().sha256,
        pierce_ms: seen.wanted_ms,
        others: PARAMETER_COUNT,
        kept: true,
        refused: 'box-parameter',
        silent: 'service-unknown',
      });
      expect(seen.readings).toBeGreaterThan(0);
    } finally {
      await emulation.stop();
      rmSync(folder, { recursive: true });
    }
  });
});

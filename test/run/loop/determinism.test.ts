import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { describe, expect, it } from 'vitest';
import { CORNER, cut } from './cut.js';

const NOISY = { 'noise.white_V_rms_per_tick': 1, 'noise.impulse_rate_per_s': 5, 'sheet.wave_mm': 2.5 };
const BUILT = fileURLToPath(new URL('../../../dist/sim/index.js', import.meta.url));

/** Cuts the example in a thread of its own, from the build. */
function inThread(seed: number): Promise<string> {
  const code = `
    const { parentPort, workerData } = require('node:worker_threads');
    import(workerData.url).then((standoff) => {
      const { box, machine, world } = standoff.exampleSetup();
      const program = standoff.parseProgram(standoff.EXAMPLE_PROGRAM, 'x');
      const plan = standoff.planProgram(program, standoff.motionLimits(machine));
      const hash = new standoff.TraceHash();
      const controller = new standoff.WasmController(standoff.loadControlModule());
      standoff.run({ box, machine, world, plan, seed: workerData.seed, controller }, [hash]);
      parentPort.postMessage(hash.hex());
    });`;
  return new Promise((resolve, reject) => {
    const worker = new Worker(code, { eval: true, workerData: { url: new URL(`file://${BUILT}`).href, seed } });
    worker.once('message', resolve);
    worker.once('error', reject);
  });
}

describe('one seed, one result', () => {
  it('gives the same hash in two runs, another for another seed', () => {
    const first = cut(CORNER, { world: NOISY, seed: 7 }).hash;
    expect(cut(CORNER, { world: NOISY, seed: 7 }).hash).toBe(first);
    expect(cut(CORNER, { world: NOISY, seed: 8 }).hash).not.toBe(first);
  });

  it('gives the same hash in two threads', async () => {
    expect(existsSync(BUILT), 'build first: npm run build').toBe(true);
    const [one, other, third] = await Promise.all([inThread(3), inThread(3), inThread(4)]);
    expect(other).toBe(one);
    expect(third).not.toBe(one);
  });
});

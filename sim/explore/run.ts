import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Piscina } from 'piscina';
import { KINDS, type Kind } from './kind.js';
import type { ExploreResult, ExploreTask } from './worker.js';

/** The compiled worker, also when the sources run directly. */
function workerFile(): string {
  const here = fileURLToPath(new URL('./worker.js', import.meta.url));
  return existsSync(here) ? here : fileURLToPath(new URL('../../dist/sim/explore/worker.js', import.meta.url));
}

/** Explores every kind of box, side by side. @throws when the signal breaks it off */
export async function exploreAll(
  workers: number,
  module_file?: string,
  signal?: AbortSignal,
): Promise<ExploreResult[]> {
  const pool = new Piscina<ExploreTask, ExploreResult>({ filename: workerFile(), minThreads: 1, maxThreads: workers });
  const task = (kind: Kind) => ({ ...kind, ...(module_file !== undefined && { module_file }) });
  try {
    return await Promise.all(KINDS.map((kind) => pool.run(task(kind), { signal: signal ?? null })));
  } finally {
    await pool.destroy();
  }
}

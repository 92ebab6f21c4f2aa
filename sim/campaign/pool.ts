import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { Piscina } from 'piscina';
import { packageFile } from '../base/package/files.js';
import { loadWorldModule } from '../world/cells/index.js';

const workerFile = (): string => packageFile('dist/sim/campaign/worker.js');

/** Threads that run tasks in the built simulator: what ships is what is tried. End it with `destroy()`. */
export const workerPool = <Task, Result>(workers: number): Piscina<Task, Result> =>
  new Piscina({ filename: workerFile(), minThreads: workers, maxThreads: workers });

/**
 * SHA-256 of the worker and the world module as built, and of requirements of somebody's own: results of two builds are not
 * added up. The worker names what it imports by the hash of its contents, and so on, so its own bytes stand for all that
 * decides what a case comes to on the host.
 */
export function simulatorHash(requirements_file?: string): string {
  const hash = createHash('sha256').update(readFileSync(workerFile())).update(loadWorldModule().sha256);
  if (requirements_file !== undefined) hash.update(readFileSync(requirements_file));
  return hash.digest('hex');
}

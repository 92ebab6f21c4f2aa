import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Piscina } from 'piscina';

/** Threads that run tasks in the compiled simulator: what ships is what is tried. End it with `destroy()`. */
export const workerPool = <Task, Result>(workers: number): Piscina<Task, Result> =>
  new Piscina({ filename: `${compiledFolder()}campaign/worker.js`, minThreads: workers, maxThreads: workers });

/** Folder of the compiled host, also when the sources run directly. */
function compiledFolder(): string {
  const here = fileURLToPath(new URL('..', import.meta.url));
  return existsSync(`${here}campaign/worker.js`) ? here : fileURLToPath(new URL('../../dist/sim/', import.meta.url));
}

/** Folders whose code decides what a case comes to. */
const FOLDERS = ['base', 'world', 'run', 'judge', 'campaign'];

/** SHA-256 over the compiled simulator, and over requirements of somebody's own: results of two builds are not added up. */
export function simulatorHash(requirements_file?: string): string {
  const folder = compiledFolder();
  const hash = createHash('sha256');
  for (const part of FOLDERS) {
    const names = readdirSync(`${folder}${part}`, { recursive: true, encoding: 'utf8' });
    for (const name of names.filter((each) => each.endsWith('.js')).sort()) {
      hash.update(`${part}/${name}\n`).update(readFileSync(`${folder}${part}/${name}`));
    }
  }
  if (requirements_file !== undefined) hash.update(readFileSync(requirements_file));
  return hash.digest('hex');
}

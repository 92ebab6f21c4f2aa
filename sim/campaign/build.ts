import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Rooms whose code decides what a case gives. */
const ROOMS = ['base', 'plant', 'motion', 'controller', 'loop', 'trace', 'properties', 'setup', 'fuzz'];

/** Folder of the compiled host, also when the sources run directly. */
export function compiledFolder(): string {
  const here = fileURLToPath(new URL('..', import.meta.url));
  return existsSync(`${here}fuzz/worker.js`) ? here : fileURLToPath(new URL('../../dist/sim/', import.meta.url));
}

/** SHA-256 over the compiled simulator: results of two builds are not added up. */
export function simulatorHash(): string {
  const folder = compiledFolder();
  const hash = createHash('sha256');
  for (const room of ROOMS) {
    const names = readdirSync(`${folder}${room}`).filter((name) => name.endsWith('.js'));
    for (const name of names.sort()) hash.update(`${room}/${name}\n`).update(readFileSync(`${folder}${room}/${name}`));
  }
  return hash.digest('hex');
}

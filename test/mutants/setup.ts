import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { loadControlModule } from '../../sim/run/controller/index.js';

/**
 * Setup file of a suite that judges a planted defect: wherever a test compiles the built control module, the file that
 * STANDOFF_MUTANT names is compiled in its place.
 */
const sound = loadControlModule().sha256;
const mutated = readFileSync(process.env.STANDOFF_MUTANT!);
const digest = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');

WebAssembly.Module = new Proxy(WebAssembly.Module, {
  construct: (target, [bytes]: [Uint8Array<ArrayBuffer>]) => new target(digest(bytes) === sound ? mutated : bytes),
});

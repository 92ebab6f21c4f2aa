import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { afterAll } from 'vitest';

/**
 * Setup file of the coverage run: wherever a test compiles the built control module, the one with counters is
 * compiled in its place, and what each of its instances has counted is written to a file of this process. Other
 * modules (those with planted defects) are left alone.
 */
const MODULE = 'dist/firmware/control.wasm';
const WITH_COUNTERS = 'dist/firmware/control.coverage.wasm';
const FOLDER = '.cache/coverage';
/** Instances that are kept to be read at the end; the oldest are read and let go. */
const MOST_INSTANCES = 64;

interface Counters {
  readonly counters_at: number;
  readonly probes: readonly unknown[];
}
const { counters_at, probes } = JSON.parse(readFileSync(`${FOLDER}/map.json`, 'utf8')) as Counters;
const digest = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');
const replaced = digest(readFileSync(MODULE));
const counting = readFileSync(WITH_COUNTERS);

const hits = new Float64Array(probes.length);
const memories: WebAssembly.Memory[] = [];
const counted = new WeakSet<object>();

/** Adds what an instance has counted, and sets its counters back. */
function read(memory: WebAssembly.Memory): void {
  const counters = new Uint32Array(memory.buffer, counters_at, probes.length);
  for (let i = 0; i < counters.length; i++) hits[i] += counters[i];
  counters.fill(0);
}

const { Module, Instance } = WebAssembly;
WebAssembly.Module = new Proxy(Module, {
  construct(target, [bytes]: [Uint8Array<ArrayBuffer>]) {
    if (digest(bytes) !== replaced) return new target(bytes);
    const module = new target(counting);
    counted.add(module);
    return module;
  },
});
WebAssembly.Instance = new Proxy(Instance, {
  construct(target, [module, imports]: [WebAssembly.Module, Record<string, never>]) {
    const instance = new target(module, imports);
    if (counted.has(module)) {
      memories.push(instance.exports.memory as WebAssembly.Memory);
      if (memories.length > MOST_INSTANCES) read(memories.shift()!);
    }
    return instance;
  },
});

afterAll(() => {
  for (const memory of memories) read(memory);
  mkdirSync(FOLDER, { recursive: true });
  writeFileSync(
    `${FOLDER}/hits-${process.pid}-${digest(Buffer.from(`${import.meta.url}${performance.now()}`)).slice(0, 12)}.json`,
    JSON.stringify([...hits]),
  );
  hits.fill(0);
});

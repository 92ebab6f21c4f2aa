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

/** What the instances of this process have counted: a process keeps its modules from file to file, and this file runs anew. */
class Counts {
  readonly hits = new Float64Array(probes.length);
  private readonly memories: WebAssembly.Memory[] = [];
  private readonly counted = new WeakSet<object>();

  constructor() {
    const { Module, Instance } = WebAssembly;
    WebAssembly.Module = new Proxy(Module, {
      construct: (target, [bytes]: [Uint8Array<ArrayBuffer>]) => {
        if (digest(bytes) !== replaced) return new target(bytes);
        const module = new target(counting);
        this.counted.add(module);
        return module;
      },
    });
    WebAssembly.Instance = new Proxy(Instance, {
      construct: (target, [module, imports]: [WebAssembly.Module, Record<string, never>]) => {
        const instance = new target(module, imports);
        if (this.counted.has(module)) this.keep(instance.exports.memory as WebAssembly.Memory);
        return instance;
      },
    });
  }

  private keep(memory: WebAssembly.Memory): void {
    this.memories.push(memory);
    if (this.memories.length > MOST_INSTANCES) this.read(this.memories.shift()!);
  }

  /** Adds what an instance has counted, and sets its counters back. */
  private read(memory: WebAssembly.Memory): void {
    const counters = new Uint32Array(memory.buffer, counters_at, probes.length);
    for (let i = 0; i < counters.length; i++) this.hits[i] += counters[i];
    counters.fill(0);
  }

  /** Of all instances; those that live on count on. */
  all(): number[] {
    for (const memory of this.memories) this.read(memory);
    return [...this.hits];
  }
}

const shared = globalThis as { counts_of_coverage?: Counts };
shared.counts_of_coverage ??= new Counts();

afterAll(() => {
  mkdirSync(FOLDER, { recursive: true });
  // After each file all that this process has counted so far: the last one stays.
  writeFileSync(`${FOLDER}/hits-${process.pid}.json`, JSON.stringify(shared.counts_of_coverage!.all()));
});

/** The box's C by what the compiler tells of calls and stack: no recursion, no call through a pointer, and it fits. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, expect, it } from 'vitest';
import { moduleCode } from '../../firmware/image/module-code.mjs';
import { PORT } from '../../firmware/ports/rp2040/port.js';
import { CONTROL_WASM, WIRE_SOURCES } from '../firmware/box-native.js';
import { ARM_GCC } from '../firmware/port-board.js';
import { describeAgainst } from './support.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const ROOMS = ['firmware/box', 'firmware/ports/rp2040', 'firmware/box/runtime'];
/** What the processor puts on the stack at an exception: eight words, and one so that it is aligned. */
const EXCEPTION_BYTES = 36;
/** libgcc and single.S say nothing of their stack; the deepest of them (read off their code) needs 56 bytes. */
const LIBRARY_BYTES = 64;
/** Lowest priority first: each may come on top of those before. */
const INTERRUPTS = ['tick_interrupt', 'uart_interrupt', 'sampling_interrupt', 'steps_interrupt'];

interface Calls {
  /** Bytes of each function's own frame. */
  readonly frames: ReadonlyMap<string, number>;
  readonly calls: ReadonlyMap<string, ReadonlySet<string>>;
}

/** What gcc writes with -fcallgraph-info=su. */
function readCalls(texts: readonly string[]): Calls {
  const frames = new Map<string, number>();
  const calls = new Map<string, Set<string>>();
  for (const line of texts.flatMap((text) => text.split('\n'))) {
    const node = /^node: \{ title: "([^"]+)" label: "[^"]*?(\d+) bytes \((static|dynamic[^)]*)\)/.exec(line);
    if (node !== null) {
      if (node[3] !== 'static') throw new Error(`the frame of ${node[1]} is not of one size`);
      frames.set(node[1], Number(node[2]));
    }
    const edge = /^edge: \{ sourcename: "([^"]+)" targetname: "([^"]+)"/.exec(line);
    if (edge === null) continue;
    const known = calls.get(edge[1]) ?? new Set();
    calls.set(edge[1], known.add(edge[2]));
  }
  return { frames, calls };
}

/** Deepest stack from a function on, and the way there. Recursion is an error. */
function deepest(
  { frames, calls }: Calls,
  name: string,
  above: readonly string[] = [],
): { bytes: number; way: string[] } {
  if (above.includes(name)) throw new Error(`recursion: ${[...above, name].join(' → ')}`);
  const own = frames.get(name);
  if (own === undefined) return { bytes: LIBRARY_BYTES, way: [name] };
  let most = { bytes: LIBRARY_BYTES, way: [] as string[] };
  for (const called of calls.get(name) ?? []) {
    const found = deepest({ frames, calls }, called, [...above, name]);
    if (found.bytes > most.bytes) most = found;
  }
  return { bytes: own + most.bytes, way: [name, ...most.way] };
}

describeAgainst(ARM_GCC, 'stack and calls of the box', (gcc) => {
  let box: Calls;

  beforeAll(() => {
    const folder = mkdtempSync(join(tmpdir(), 'standoff-calls-'));
    moduleCode(CONTROL_WASM, folder);
    writeFileSync(join(folder, 'build.gen.h'), '#define VERSION_TEXT "0.0.0"\n#define MODULE_SHA256_BYTES {0}\n');
    const sources = ROOMS.flatMap((room) =>
      readdirSync(join(ROOT, room))
        .filter((name) => name.endsWith('.c'))
        .map((name) => join(ROOT, room, name)),
    );
    for (const source of [...sources, ...WIRE_SOURCES, join(folder, 'control.c')]) {
      execFileSync(
        gcc,
        [
          ...[...PORT.core, '-std=c11', '-O2', '-ffp-contract=off', '-ffreestanding'],
          ...['firmware/wire', ...ROOMS].map((room) => `-I${join(ROOT, room)}`),
          ...[`-I${folder}`, '-fcallgraph-info=su', '-c', source],
        ],
        { cwd: folder },
      );
    }
    const texts = readdirSync(folder).filter((name) => name.endsWith('.ci'));
    box = readCalls(texts.map((name) => readFileSync(join(folder, name), 'utf8')));
  }, 120_000);

  it('are known: no function is called through a pointer', () => {
    expect(box.frames.size).toBeGreaterThan(100);
    const called = [...box.calls.values()].flatMap((names) => [...names]);
    expect(called.filter((name) => name.includes('indirect'))).toEqual([]);
  });

  it('never lead back to where they came from, and fit into the image’s stack with all interrupts on top', () => {
    const linker = readFileSync(join(ROOT, 'firmware/ports/rp2040/image.ld'), 'utf8');
    const stack = Number(/STACK_BYTES = (0x[0-9a-f]+);/.exec(linker)![1]);
    const parts = ['port_start', 'box_main', ...INTERRUPTS].map((name) => ({ name, ...deepest(box, name) }));
    const bytes = (name: string): number => parts.find((part) => part.name === name)!.bytes;
    const idle = Math.max(bytes('port_start'), bytes('box_main'));
    const all = INTERRUPTS.reduce((sum, name) => sum + EXCEPTION_BYTES + bytes(name), idle);
    const ways = parts.map((part) => `${part.bytes} ${part.way.map((name) => name.replace(/^.*:/, '')).join(' → ')}`);
    console.info([`stack: at most ${all} of ${stack} bytes`, ...ways].join('\n'));
    expect(all).toBeLessThanOrEqual(stack);
  });

  it('are told apart from a program that does lead back', () => {
    const calls = new Map([
      ['a', new Set(['b'])],
      ['b', new Set(['a'])],
    ]);
    const frames = new Map([
      ['a', 8],
      ['b', 8],
    ]);
    expect(() => deepest({ calls, frames }, 'a')).toThrow('recursion: a → b → a');
  });
});

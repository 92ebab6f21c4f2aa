import { packageFile, readModule } from '../base/package/files.js';
import { type ControlModule, controlModule, type LinkedModule, type WasmController } from '../run/controller/index.js';
import { KEY_PARTS } from './key.js';
import { READ_BITS } from './reads.js';
import { FEEDS, RUNNING_STEPS } from './world.js';

/** Pages that a controller must have for the loop to stand behind it. */
export const PAGES = 64;

// Marks of fields of the key, from the highest bit that is free; below them each direction has a bit.
let next = 1 << 30;
/** Of each part of a key; 0 for those that all keys of a table have in common. */
export const FIELD_MARKS: readonly number[] = KEY_PARTS.map(({ shift, most }) => {
  if (((most << shift) & READ_BITS) !== 0) return 0;
  next >>>= 1;
  return next << 1;
});
/** The mark of the fault where it is only compared. */
export const FAULT_COMPARED = next;
export const FIELDS = FIELD_MARKS.reduce((all, mark) => all | mark, FAULT_COMPARED);
/** Directions that there are bits for. */
export const DIRECTIONS_MOST = Math.log2(FAULT_COMPARED);

/** Where in its memory the loop wants what, addresses in bytes; see module/choice.ts, facts.ts, skip.ts, found.ts. */
type Places = Readonly<
  Record<
    | ('TABLE' | 'DIRECTIONS' | 'OPTIONS' | 'WORDS' | 'USUAL' | 'IMAGE' | 'TEMPLATES' | 'COUNTS' | 'DRAWN')
    | ('KEY_ROWS' | 'MARK_IMAGE' | 'SIGHTINGS'),
    { readonly value: number }
  >
>;

/** What the loop exports beside that; see module/module.ts. */
interface LoopExports extends Places {
  find_blocks(state: number, input: number, output: number, parameters: number): void;
  find_marks(of_memory: number, of_lines: number, of_conditions: number): void;
  set_up(key_rows: number, feeds: number, running_steps: number): void;
  sightings(): number;
  key(): number;
  before(): number;
  facts(said: number, lines: number): number;
  walk(): number;
  walk_drawn(count: number): void;
  skip(fields: number): number;
  looked_at(): number;
}

/** What the tracked copy of a control module exports beside that; see module/track.mjs. */
export interface Marks {
  marks(): number;
  line_marks(): number;
  met(): number;
  compared(): number;
}

let compiled: WebAssembly.Module | undefined;

/** The exploration's loop in the memory of a controller: with it key and facts of its ticks. */
export function loopOf(controller: WasmController): LoopExports {
  const control = controller.linked;
  compiled ??= readModule(packageFile('dist/sim/explore.wasm'), 'exploring loop').compiled;
  const instance = new WebAssembly.Instance(compiled, { control, env: { memory: control.memory } } as never);
  const loop = instance.exports as unknown as LoopExports;
  loop.find_blocks(control.state(), control.input(), control.output(), control.parameters());
  loop.set_up(KEY_PARTS.length, FEEDS.length, RUNNING_STEPS);
  const rows = KEY_PARTS.flatMap(({ word, shift, flag, most }, at) => [
    4 * word,
    shift,
    flag ? 1 : 0,
    most << shift,
    FIELD_MARKS[at],
  ]);
  new Int32Array(control.memory.buffer).set(rows, loop.KEY_ROWS.value / 4);
  return loop;
}

const SECTION = 'tracks';
const { customSections } = WebAssembly.Module as unknown as {
  customSections(module: object, name: string): ArrayBuffer[];
};

/** The tracked copy of the control module as built; undefined for any other module: of that there is none. */
export function trackedCopyOf(module: ControlModule): ControlModule | undefined {
  const copy = controlModule(readModule(packageFile('dist/sim/tracked.wasm'), 'tracked copy').bytes);
  const [of] = customSections(copy.compiled, SECTION);
  return of !== undefined && Buffer.from(of).toString('hex') === module.sha256 ? copy : undefined;
}

/** The constants that a tracked copy compares a word with. @param address bytes */
export function comparedWith(copy: ControlModule, address: number): readonly number[] {
  const [list] = customSections(copy.compiled, 'compares');
  const rows = JSON.parse(Buffer.from(list).toString()) as readonly (readonly [number, readonly number[]])[];
  return rows.find(([place]) => place === address)?.[1] ?? [];
}

/** The marks of a controller, if it is a tracked copy. */
export function marksOf({ linked }: WasmController): Marks | undefined {
  const tracked = linked as LinkedModule & Partial<Marks>;
  return tracked.marks === undefined ? undefined : (tracked as LinkedModule & Marks);
}

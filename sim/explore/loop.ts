import { builtFile, type ControlModule, controlModule, type LinkedModule, type WasmController } from '../run/controller/index.js';
import { KEY_PARTS } from './key.js';

/** Pages that a controller must have for the loop to stand behind it. */
export const PAGES = 150;

/** What the loop exports; see module/module.ts. Places are addresses in bytes. */
interface LoopExports {
  find_blocks(state: number, input: number, output: number, parameters: number): void;
  find_marks(of_memory: number, of_lines: number, of_conditions: number): void;
  key_rows_at(rows: number): number;
  table_at(): number;
  directions_at(): number;
  options_at(): number;
  words_at(): number;
  usual_at(): number;
  image_at(): number;
  templates_at(feeds: number): number;
  counts_at(): number;
  set_running_steps(steps: number): void;
  drawn_at(): number;
  mark_image_at(): number;
  sightings(): number;
  sightings_at(): number;
  key(): number;
  before(): number;
  facts(said: number, lines: number): number;
  walk(): number;
  walk_drawn(count: number): void;
  skip(): number;
}

/** What the tracked copy of a control module exports beside that; see module/track.mjs. */
export interface Marks {
  marks(): number;
  line_marks(): number;
  met(): number;
}

let compiled: WebAssembly.Module | undefined;

/** The exploration's loop in the memory of a controller: with it key and facts of its ticks. */
export function loopOf(controller: WasmController): LoopExports {
  const control = controller.linked;
  compiled ??= new WebAssembly.Module(builtFile('sim/explore.wasm'));
  const instance = new WebAssembly.Instance(compiled, { control, env: { memory: control.memory } } as never);
  const loop = instance.exports as unknown as LoopExports;
  loop.find_blocks(control.state(), control.input(), control.output(), control.parameters());
  const rows = KEY_PARTS.flatMap(({ word, shift, flag }) => [4 * word, shift, flag ? 1 : 0]);
  new Int32Array(control.memory.buffer).set(rows, loop.key_rows_at(KEY_PARTS.length) / 4);
  return loop;
}

const SECTION = 'tracks';
const { customSections } = WebAssembly.Module as unknown as {
  customSections(module: object, name: string): ArrayBuffer[];
};

/** The tracked copy of the control module as built; undefined for any other module: of that there is none. */
export function trackedCopyOf(module: ControlModule): ControlModule | undefined {
  const copy = controlModule(builtFile('sim/tracked.wasm'));
  const [of] = customSections(copy.compiled, SECTION);
  return of !== undefined && Buffer.from(of).toString('hex') === module.sha256 ? copy : undefined;
}

/** The marks of a controller, if it is a tracked copy. */
export function marksOf({ linked }: WasmController): Marks | undefined {
  const tracked = linked as LinkedModule & Partial<Marks>;
  return tracked.marks === undefined ? undefined : (tracked as LinkedModule & Marks);
}

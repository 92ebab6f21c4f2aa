import { createHash } from 'node:crypto';
import { StandoffError } from '../../base/index.js';
import { packageFile, REBUILD, readModule } from '../../base/package/files.js';
import { layoutNumber } from './generator.js';
import { type GrowingMemory, WorldMemory } from './memory.js';

/** What the module exports; see sim/run/loop/module/loop.ts. */
interface WorldExports {
  layout(): number;
  block(): number;
  fixed_end(): number;
  /** Draws the wait for the first impulse of the noise. */
  draw_impulse(): void;
  /** Takes up the first step of the plan. */
  begin_table(): void;
  advance_table(motion_permit: number, latched_stop: number): void;
  move_to(x_mm: number, y_mm: number, feed_mm_s: number, path_mm: number, dx: number, dy: number): void;
  advance_plant(z_steps: number, trigger: number, z_owned: number): void;
  run(from_row: number, to_row: number): number;
}

/** The controller as the world module sees it: a memory with its blocks, and a tick. */
export interface Linked extends GrowingMemory {
  readonly tick: () => void;
  /** Places of the blocks, bytes. */
  readonly input_at: number;
  readonly output_at: number;
}

/** The world module as built. */
export interface WorldModule {
  readonly compiled: object;
  /** Lower-case hex. */
  readonly sha256: string;
}

const LAYOUT = layoutNumber();
let loaded: WorldModule | undefined;

/**
 * The world module as built, read once.
 * @throws StandoffError `module-missing`, `module-format`
 */
export function loadWorldModule(): WorldModule {
  loaded ??= worldModuleIn(packageFile('dist/sim/world.wasm'));
  return loaded;
}

/**
 * A world module in a file.
 * @throws StandoffError `module-missing`, `module-format`
 */
export function worldModuleIn(file: string): WorldModule {
  const { bytes, compiled } = readModule(file, 'world module');
  return { compiled, sha256: createHash('sha256').update(bytes).digest('hex') };
}

/** Its exports, in a memory. @throws StandoffError `module-build` for a module that is another one, or of another build */
function exportsOf(world: WorldModule, { memory, tick }: Linked): WorldExports {
  let exports: Partial<WorldExports>;
  try {
    exports = new WebAssembly.Instance(world.compiled, { env: { memory }, control: { tick } }).exports;
  } catch {
    exports = {};
  }
  if (exports.fixed_end !== undefined && exports.layout?.() === LAYOUT) return exports as WorldExports;
  throw new StandoffError('module-build', 'the world module is not of this build of Standoff', REBUILD);
}

/** The world module at work in a memory, with or without a controller behind its ticks. */
export class WorldInstance extends WorldMemory {
  readonly module: WorldExports;
  readonly input_at: number;
  readonly output_at: number;
  /** Place of the recorded block. */
  readonly block_at: number;

  /**
   * @param linked the controller; without it only `advance_plant` and `advance_table` may be called
   * @param world another module than the built one, such as one with a planted defect
   * @throws StandoffError `module-missing`, `module-format`, `module-build`
   */
  constructor(linked: Linked = standAlone(), world: WorldModule = loadWorldModule()) {
    const module = exportsOf(world, linked);
    super(linked, module.fixed_end());
    this.module = module;
    this.input_at = linked.input_at;
    this.output_at = linked.output_at;
    this.block_at = module.block();
    this.reset();
  }

  override reset(): void {
    super.reset();
    this.cells.loop.input_at = this.input_at;
    this.cells.loop.output_at = this.output_at;
  }
}

const PAGES_MOST = 16384;

/** A memory without a controller module: its first page has room for the two blocks. @param tick of another controller */
export function standAlone(tick: () => void = refuseTick): Linked {
  const memory = new WebAssembly.Memory({ initial: 4, maximum: PAGES_MOST });
  return { memory, grow: (pages) => memory.grow(pages), input_at: 1024, output_at: 2048, tick };
}

function refuseTick(): never {
  throw new Error('a world without a controller was asked to run its loop');
}

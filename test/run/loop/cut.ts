import { Judge, type RequirementResult, type RunFigures, requirementContext } from '../../../sim/judge/index.js';
import { type ControlModule, loadControlModule, WasmController } from '../../../sim/run/controller/index.js';
import { motionLimits, type OperatorEvent, type Outcome, run } from '../../../sim/run/loop/index.js';
import { defaultSetup } from '../../../sim/run/setup/index.js';
import { type TraceBlock, TraceHash, type TraceSink } from '../../../sim/run/trace/index.js';
import { parseProgram, planProgram } from '../../../sim/world/motion/index.js';
import type { FaultKind } from '../../../sim/world/plant/index.js';

const control = loadControlModule();

export interface Changes {
  readonly box?: Readonly<Record<string, number>>;
  /** Dotted paths, such as 'sheet.wave_mm'. */
  readonly world?: Readonly<Record<string, number | boolean>>;
  readonly machine?: Readonly<Record<string, number | boolean>>;
  readonly faults?: readonly {
    readonly kind: FaultKind;
    readonly at_s: number;
    readonly for_s?: number;
    readonly value?: number;
  }[];
  readonly seed?: number;
  readonly operator?: readonly OperatorEvent[];
  /** Another module than the one that was built, such as one with a planted defect. */
  readonly module?: ControlModule;
  /** Another controller than the plain one, such as one whose wires lie. */
  readonly controller?: new (
    module: ControlModule,
  ) => WasmController;
}

export interface Cut {
  readonly outcome: Outcome;
  readonly figures: RunFigures;
  /** Names of the requirements that were broken. */
  readonly broken: readonly string[];
  /** Names of the goals that were missed. */
  readonly missed: readonly string[];
  /** What the judge says of a requirement or a quality goal. */
  readonly result: (name: string) => RequirementResult;
  readonly faults: readonly string[];
  readonly hash: string;
}

/** A quiet world: a level sheet, no noise, no wear. What a test is about is then the only cause. */
const QUIET: Readonly<Record<string, number | boolean>> = {
  'sheet.tilt_x': 0,
  'sheet.wave_mm': 0,
  'sheet.heat_growth_mm_per_s': 0,
  'arc.wear_V_per_start': 0,
  'arc.wear_V_per_min': 0,
  'noise.white_V_rms_per_tick': 0.2,
  'noise.coloured_V_rms': 0,
  'noise.ripple_V_peak': 0,
  'noise.inverter_V_peak': 0,
  'noise.impulse_rate_per_s': 0,
};

function changed<T extends object>(start: T, changes: Readonly<Record<string, number | boolean>>): T {
  const copy = structuredClone(start) as Record<string, Record<string, number | boolean>>;
  for (const [path, value] of Object.entries(changes)) {
    const [part, name] = path.split('.') as [string, string];
    if (!(name in (copy[part] ?? {}))) throw new Error(`the setup has no ${path}`);
    copy[part][name] = value;
  }
  return copy as unknown as T;
}

/** A cut but for its controller: what the runner and the judge are given. */
export function cutOptions(program: string, changes: Changes) {
  const setup = defaultSetup();
  const box = { ...setup.box, ...changes.box };
  const machine = changed(setup.machine, changes.machine ?? {});
  const world = { ...changed(setup.world, { ...QUIET, ...changes.world }), faults: changes.faults ?? [] };
  const plan = planProgram(parseProgram(program, 'test.nc'), motionLimits(machine));
  const { seed = 1, operator } = changes;
  return { box, machine, world, plan, seed, ...(operator && { operator }) };
}

/** Cuts a program in the quiet world, changed as the test says. */
export function cut(program: string, changes: Changes = {}, watch?: (block: TraceBlock) => void): Cut {
  const options = cutOptions(program, changes);
  const { relay_release_ms } = options.machine.firing;
  const judge = new Judge(requirementContext(options.box, { relay_release_ms }));
  const hash = new TraceHash();
  const sinks: TraceSink[] = [judge, hash];
  if (watch) sinks.push({ block: watch });
  const { module = control, controller: Box = WasmController } = changes;
  const outcome = run({ ...options, controller: new Box(module) }, sinks);
  const figures = judge.figures.figures();
  const results = judge.results();
  const lost = (kind: string) =>
    results.filter((result) => result.kind === kind && !result.kept).map(({ name }) => name);
  return {
    outcome,
    figures,
    broken: lost('requirement'),
    missed: lost('goal'),
    result: (name) => results.find((result) => result.name === name)!,
    faults: figures.faults.map((fault) => fault.name),
    hash: hash.hex(),
  };
}

const program = (...lines: string[]) => ['G21 G90 G17 F3000', ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n');

/** 300 mm along X. */
export const STRAIGHT = program('G0 X50 Y100', 'M3', 'G1 X350');
/** Two sides of a square: one corner of 90 degrees. */
export const CORNER = program('G0 X50 Y50', 'M3', 'G1 X150', 'G1 Y150');
/** A cut, and a second one that crosses its kerf at 90 degrees. */
export const CROSSING = program('G0 X150 Y50', 'M3', 'G1 Y150', 'M5', 'G4 P1', 'G0 X50 Y100', 'M3', 'G1 X250');
/** 280 mm between X and Y. */
export const DIAGONAL = program('G0 X50 Y50', 'M3', 'G1 X250 Y250');
/** A dwell of 20 s in the middle of a cut, with the torch on. */
export const DWELL = program('G0 X50 Y100', 'M3', 'G1 X150', 'G4 P20', 'G1 X250');
/** Off the right edge of a sheet of 600 mm. */
export const OVER_THE_EDGE = program('G0 X500 Y100', 'M3', 'G1 X640');

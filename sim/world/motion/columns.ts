import { arcBetween, samePoint } from './arc.js';
import { BlockKind, type Program } from './program.js';

/**
 * The steps of a plan in columns: moves with their geometry and speed profile, and between them dwells, torch
 * words and the end. Only the first `count` entries of a column mean anything.
 */
export class PlanColumns {
  count = 0;
  /** A `BlockKind`. */
  readonly kind: Uint8Array;
  readonly line: Uint32Array;
  /** 1 where the torch is asked for during the step. */
  readonly torch: Uint8Array;
  readonly start_x_mm: Float64Array;
  readonly start_y_mm: Float64Array;
  readonly end_x_mm: Float64Array;
  readonly end_y_mm: Float64Array;
  readonly length_mm: Float64Array;
  /** Direction of travel at the start, and at the end. */
  readonly start_dx: Float64Array;
  readonly start_dy: Float64Array;
  readonly end_dx: Float64Array;
  readonly end_dy: Float64Array;
  /** Arcs: centre, radius at the start, its change to the end, and sweep (positive counter-clockwise). */
  readonly centre_x_mm: Float64Array;
  readonly centre_y_mm: Float64Array;
  readonly radius_mm: Float64Array;
  readonly radius_change_mm: Float64Array;
  readonly sweep_rad: Float64Array;
  /** Speed that the program asks for: the feed, or the rapid speed. */
  readonly programmed_mm_s: Float64Array;
  readonly entry_mm_s: Float64Array;
  readonly peak_mm_s: Float64Array;
  readonly exit_mm_s: Float64Array;
  readonly accelerate_s: Float64Array;
  readonly cruise_s: Float64Array;
  readonly duration_s: Float64Array;
  /** Time and path with the torch asked for, both counted to the start of the step. */
  readonly start_s: Float64Array;
  readonly start_path_mm: Float64Array;

  constructor(size: number) {
    const reals = () => new Float64Array(size);
    this.kind = new Uint8Array(size);
    this.line = new Uint32Array(size);
    this.torch = new Uint8Array(size);
    this.start_x_mm = reals();
    this.start_y_mm = reals();
    this.end_x_mm = reals();
    this.end_y_mm = reals();
    this.length_mm = reals();
    this.start_dx = reals();
    this.start_dy = reals();
    this.end_dx = reals();
    this.end_dy = reals();
    this.centre_x_mm = reals();
    this.centre_y_mm = reals();
    this.radius_mm = reals();
    this.radius_change_mm = reals();
    this.sweep_rad = reals();
    this.programmed_mm_s = reals();
    this.entry_mm_s = reals();
    this.peak_mm_s = reals();
    this.exit_mm_s = reals();
    this.accelerate_s = reals();
    this.cruise_s = reals();
    this.duration_s = reals();
    this.start_s = reals();
    this.start_path_mm = reals();
  }
}

export const isMove = (kind: number): boolean => kind <= BlockKind.arcCounterClockwise;
export const isArc = (kind: number): boolean =>
  kind === BlockKind.arcClockwise || kind === BlockKind.arcCounterClockwise;

/**
 * Lays the blocks of a program out as steps: moves without length and torch words that change nothing are
 * left out. Speeds and times are not filled in yet.
 */
export function layOut(program: Program, rapid_mm_s: number): PlanColumns {
  const steps = new PlanColumns(program.count);
  let x_mm = 0;
  let y_mm = 0;
  let torch = 0;
  for (let block = 0; block < program.count; block++) {
    const kind = program.kind[block];
    const index = steps.count;
    const end_x_mm = program.x_mm[block];
    const end_y_mm = program.y_mm[block];
    if (kind === BlockKind.torchOn || kind === BlockKind.torchOff) {
      const asked = kind === BlockKind.torchOn ? 1 : 0;
      if (asked === torch) continue;
      torch = asked;
    } else if (kind === BlockKind.end) torch = 0;
    else if (kind === BlockKind.dwell) steps.duration_s[index] = program.dwell_s[block];
    else if (isArc(kind)) layArc(steps, index, program, block, x_mm, y_mm);
    else if (samePoint(x_mm, y_mm, end_x_mm, end_y_mm)) continue;
    else layLine(steps, index, end_x_mm - x_mm, end_y_mm - y_mm);
    steps.kind[index] = kind;
    steps.line[index] = program.line[block];
    steps.torch[index] = torch;
    steps.start_x_mm[index] = x_mm;
    steps.start_y_mm[index] = y_mm;
    if (isMove(kind)) {
      const feed_mm_s = program.feed_mm_s[block];
      steps.programmed_mm_s[index] = kind === BlockKind.rapid ? rapid_mm_s : feed_mm_s;
      x_mm = end_x_mm;
      y_mm = end_y_mm;
    }
    steps.end_x_mm[index] = x_mm;
    steps.end_y_mm[index] = y_mm;
    steps.count++;
  }
  return steps;
}

function layLine(steps: PlanColumns, index: number, x_mm: number, y_mm: number): void {
  const length_mm = Math.sqrt(x_mm * x_mm + y_mm * y_mm);
  steps.length_mm[index] = length_mm;
  steps.start_dx[index] = x_mm / length_mm;
  steps.start_dy[index] = y_mm / length_mm;
  steps.end_dx[index] = x_mm / length_mm;
  steps.end_dy[index] = y_mm / length_mm;
}

function layArc(steps: PlanColumns, index: number, program: Program, block: number, x_mm: number, y_mm: number): void {
  const clockwise = program.kind[block] === BlockKind.arcClockwise;
  const arc = arcBetween(
    { x_mm, y_mm },
    { x_mm: program.x_mm[block], y_mm: program.y_mm[block] },
    { x_mm: program.centre_x_mm[block], y_mm: program.centre_y_mm[block] },
    clockwise,
  );
  const turn = clockwise ? -1 : 1;
  steps.length_mm[index] = arc.length_mm;
  steps.centre_x_mm[index] = arc.centre_x_mm;
  steps.centre_y_mm[index] = arc.centre_y_mm;
  steps.radius_mm[index] = arc.start_radius_mm;
  steps.radius_change_mm[index] = arc.radius_change_mm;
  steps.sweep_rad[index] = arc.sweep_rad;
  steps.start_dx[index] = -turn * arc.start_y;
  steps.start_dy[index] = turn * arc.start_x;
  steps.end_dx[index] = -turn * arc.end_y;
  steps.end_dy[index] = turn * arc.end_x;
}

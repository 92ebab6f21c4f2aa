import { arcBetween, samePoint } from './geometry.js';
import { BlockKind, type Program } from './program.js';

/**
 * The steps of a plan in columns: moves with their geometry and speed profile, and between them dwells, torch
 * words and the end. Only the first `count` entries of a column mean anything.
 */
export type PlanColumns = ReturnType<typeof planColumns>;

function planColumns(size: number) {
  const reals = () => new Float64Array(size);
  return {
    count: 0,
    /** A `BlockKind`. */
    kind: new Uint8Array(size),
    line: new Uint32Array(size),
    /** 1 where the torch is requested during the step. */
    torch: new Uint8Array(size),
    start_x_mm: reals(),
    start_y_mm: reals(),
    end_x_mm: reals(),
    end_y_mm: reals(),
    length_mm: reals(),
    /** Direction of travel at the start, and at the end. */
    start_dx: reals(),
    start_dy: reals(),
    end_dx: reals(),
    end_dy: reals(),
    /** Arcs: centre, radius at the start, its change to the end, and sweep (positive counter-clockwise). */
    centre_x_mm: reals(),
    centre_y_mm: reals(),
    radius_mm: reals(),
    radius_change_mm: reals(),
    sweep_rad: reals(),
    /** Speed that the program asks for: the feed, or the rapid speed. */
    programmed_mm_s: reals(),
    entry_mm_s: reals(),
    peak_mm_s: reals(),
    exit_mm_s: reals(),
    accelerate_s: reals(),
    cruise_s: reals(),
    duration_s: reals(),
    /** Time and path with the torch requested, both counted to the start of the step. */
    start_s: reals(),
    start_path_mm: reals(),
  };
}

export const isMove = (kind: number): boolean => kind <= BlockKind.arcCounterClockwise;
export const isArc = (kind: number): boolean =>
  kind === BlockKind.arcClockwise || kind === BlockKind.arcCounterClockwise;

/**
 * Lays the blocks of a program out as steps: moves without length and torch words that change nothing are
 * left out. Speeds and times are not filled in yet.
 */
export function layOut(program: Program, rapid_mm_s: number): PlanColumns {
  const steps = planColumns(program.count);
  let { start_x_mm: x_mm, start_y_mm: y_mm } = program;
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

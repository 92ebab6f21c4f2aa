import * as codes from '../module/codes.js';
import { type Diagnosis, type DiagnosisLevel, diagnosisSentence } from './diagnoses.js';

/** What one block of a program asks for. Arcs are seen from above, X to the right and Y up. */
export const BlockKind = {
  rapid: codes.RAPID,
  line: codes.LINE,
  arcClockwise: codes.ARC_CLOCKWISE,
  arcCounterClockwise: codes.ARC_COUNTER_CLOCKWISE,
  dwell: codes.DWELL,
  torchOn: codes.TORCH_ON,
  torchOff: codes.TORCH_OFF,
  end: codes.END,
} as const;
export type BlockKind = (typeof BlockKind)[keyof typeof BlockKind];

/**
 * A program as read: one entry per block that does something, in columns. Lengths are in mm from the origin
 * of the sheet, its lower left corner; the torch stands at the origin of G54 at the start.
 */
export interface Program {
  readonly file: string;
  readonly line_count: number;
  /** Where the torch stands before the first block. */
  readonly start_x_mm: number;
  readonly start_y_mm: number;
  /** Blocks; only the first `count` entries of each column mean anything. */
  readonly count: number;
  /** A `BlockKind`. */
  readonly kind: Uint8Array;
  /** Line of the text, from 1. */
  readonly line: Uint32Array;
  /** End of a move; for other blocks the place where the torch stands. */
  readonly x_mm: Float64Array;
  readonly y_mm: Float64Array;
  /** Centre of an arc, else 0. */
  readonly centre_x_mm: Float64Array;
  readonly centre_y_mm: Float64Array;
  /** Programmed feed of a line or an arc, else 0. */
  readonly feed_mm_s: Float64Array;
  /** Length of a dwell, else 0. */
  readonly dwell_s: Float64Array;
  /** What was found and is no error: warnings, then notes. */
  readonly found: readonly Diagnosis[];
}

/** Sentences for the report, one for each kind of note or warning; empty when there is nothing to say. */
export const noteTexts = (program: Program, level: DiagnosisLevel = 'note'): string[] =>
  program.found.filter((one) => one.level === level).map((one) => diagnosisSentence(one, program.file));

/** Columns that grow by doubling, so that a program with any number of blocks costs a few allocations. */
export class ProgramBuilder {
  count = 0;
  private kind: Uint8Array;
  private line: Uint32Array;
  private x_mm: Float64Array;
  private y_mm: Float64Array;
  private centre_x_mm: Float64Array;
  private centre_y_mm: Float64Array;
  private feed_mm_s: Float64Array;
  private dwell_s: Float64Array;

  /** @param size blocks to begin with, such as one a line */
  constructor(
    size: number,
    private readonly start_x_mm: number,
    private readonly start_y_mm: number,
  ) {
    this.kind = new Uint8Array(size);
    this.line = new Uint32Array(size);
    this.x_mm = new Float64Array(size);
    this.y_mm = new Float64Array(size);
    this.centre_x_mm = new Float64Array(size);
    this.centre_y_mm = new Float64Array(size);
    this.feed_mm_s = new Float64Array(size);
    this.dwell_s = new Float64Array(size);
  }

  /** Appends a block; `feed_mm_s` and `dwell_s` are 0 where they mean nothing. */
  add(kind: BlockKind, line: number, x_mm: number, y_mm: number, feed_mm_s: number, dwell_s: number): void {
    if (this.count === this.kind.length) this.grow();
    const index = this.count++;
    this.kind[index] = kind;
    this.line[index] = line;
    this.x_mm[index] = x_mm;
    this.y_mm[index] = y_mm;
    this.feed_mm_s[index] = feed_mm_s;
    this.dwell_s[index] = dwell_s;
  }

  /** Gives the last block, an arc, its centre. */
  centre(x_mm: number, y_mm: number): void {
    this.centre_x_mm[this.count - 1] = x_mm;
    this.centre_y_mm[this.count - 1] = y_mm;
  }

  finish(file: string, line_count: number, found: readonly Diagnosis[]): Program {
    const { start_x_mm, start_y_mm, count, kind, line, x_mm, y_mm, centre_x_mm, centre_y_mm, feed_mm_s, dwell_s } =
      this;
    const start = { start_x_mm, start_y_mm };
    const columns = { kind, line, x_mm, y_mm, centre_x_mm, centre_y_mm, feed_mm_s, dwell_s };
    return { file, line_count, ...start, count, ...columns, found };
  }

  private grow(): void {
    const size = this.kind.length * 2;
    this.kind = grown(this.kind, new Uint8Array(size));
    this.line = grown(this.line, new Uint32Array(size));
    this.x_mm = grown(this.x_mm, new Float64Array(size));
    this.y_mm = grown(this.y_mm, new Float64Array(size));
    this.centre_x_mm = grown(this.centre_x_mm, new Float64Array(size));
    this.centre_y_mm = grown(this.centre_y_mm, new Float64Array(size));
    this.feed_mm_s = grown(this.feed_mm_s, new Float64Array(size));
    this.dwell_s = grown(this.dwell_s, new Float64Array(size));
  }
}

function grown<A extends Uint8Array | Uint32Array | Float64Array>(column: A, larger: A): A {
  larger.set(column);
  return larger;
}

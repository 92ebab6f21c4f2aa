import * as codes from '../module/codes.js';

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

/** How often something was found, and the first line with it; both 0 when it was not. */
export interface Count {
  readonly count: number;
  readonly first_line: number;
}

/** What was read and is not an error, but is not executed to the letter; `noteTexts` says it in words. */
export interface ProgramNotes {
  /** Z words: counted, not moved. */
  readonly z_words: Count;
  /** S words: the cutting current is set on the supply. */
  readonly s_words: Count;
  /** Lines that start with a block delete character: they are executed. */
  readonly block_delete_lines: Count;
  /** Lines with something on them after the end of the program: they are not read. */
  readonly lines_after_end: Count;
  /** False when neither G20 nor G21 was given before the first length: millimetres were assumed. */
  readonly units_stated: boolean;
}

/**
 * A program as read: one entry per block that does something, in columns. Lengths are in mm from the origin
 * of G54, which is also where the torch stands at the start.
 */
export interface Program {
  readonly file: string;
  readonly line_count: number;
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
  readonly notes: ProgramNotes;
}

/** Sentences for the report, one for each kind of note; empty when there is nothing to say. */
export function noteTexts(program: Program): string[] {
  const { z_words, s_words, block_delete_lines, lines_after_end, units_stated } = program.notes;
  const texts: string[] = [];
  const tell = (noted: Count, text: string) => {
    if (noted.count > 0) texts.push(`${program.file}:${noted.first_line}: ${noted.count} ${text}`);
  };
  if (!units_stated) texts.push(`${program.file}: neither G20 nor G21 is given; lengths were read as millimetres`);
  tell(z_words, 'Z word(s), the first here; Z is owned by the box while it cuts, so they move nothing');
  tell(s_words, 'S word(s), the first here; they do nothing, the cutting current is set on the supply');
  tell(block_delete_lines, 'line(s) start with /, the first here; block delete is off, so they are executed');
  tell(lines_after_end, 'line(s) after the end of the program, the first here; they were not read');
  return texts;
}

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
  constructor(size: number) {
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

  finish(file: string, line_count: number, notes: ProgramNotes): Program {
    const { count, kind, line, x_mm, y_mm, centre_x_mm, centre_y_mm, feed_mm_s, dwell_s } = this;
    return { file, line_count, count, kind, line, x_mm, y_mm, centre_x_mm, centre_y_mm, feed_mm_s, dwell_s, notes };
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

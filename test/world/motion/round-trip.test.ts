import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BlockKind, parseProgram } from '../../../sim/world/motion/index.js';

/** One block of a valid program; lengths are whole micrometres, so that sums of them stay near the decimal. */
type Block =
  | { kind: 'rapid' | 'line'; x_um: number; y_um: number }
  | { kind: 'arc'; x_um: number; y_um: number; clockwise: boolean; sharp: number }
  | { kind: 'dwell'; ms: number }
  | { kind: 'torch'; on: boolean }
  | { kind: 'feed'; mm_min: number };

/** How the text of a block is written; none of it may change the meaning. */
interface Style {
  readonly lower: boolean;
  readonly incremental: boolean;
  readonly number_line: boolean;
  readonly comment: string;
  readonly gap: string;
}

const length_um = fc.integer({ min: -900_000, max: 900_000 });
const blocks = fc.oneof(
  fc.record({ kind: fc.constantFrom('rapid' as const, 'line' as const), x_um: length_um, y_um: length_um }),
  fc.record({
    kind: fc.constant('arc' as const),
    x_um: length_um,
    y_um: length_um,
    clockwise: fc.boolean(),
    sharp: fc.double({ min: -1.5, max: 1.5, noNaN: true }),
  }),
  fc.record({ kind: fc.constant('dwell' as const), ms: fc.integer({ min: 0, max: 9999 }) }),
  fc.record({ kind: fc.constant('torch' as const), on: fc.boolean() }),
  fc.record({ kind: fc.constant('feed' as const), mm_min: fc.integer({ min: 1, max: 20_000 }) }),
);
const styles = fc.record({
  lower: fc.boolean(),
  incremental: fc.boolean(),
  number_line: fc.boolean(),
  comment: fc.constantFrom('', '(plate)', ' (1) (2)'),
  gap: fc.constantFrom('', ' ', '\t'),
});

class Writer {
  readonly lines = ['G21 F600'];
  readonly expected: number[][] = [];
  private x_um = 0;
  private y_um = 0;
  private feed_mm_min = 600;

  write(block: Block, style: Style): void {
    let text = '';
    const line = this.lines.length + 1;
    const moves = (kind: number, feed_mm_s: number) =>
      this.expected.push([kind, line, this.x_um / 1000, this.y_um / 1000, feed_mm_s, 0]);
    switch (block.kind) {
      case 'rapid':
      case 'line':
        text = `${block.kind === 'line' ? 'G1' : 'G0'}${this.target(block, style)}`;
        moves(
          block.kind === 'line' ? BlockKind.line : BlockKind.rapid,
          block.kind === 'line' ? this.feed_mm_min / 60 : 0,
        );
        break;
      case 'arc':
        text = this.arc(block, style);
        if (text === '') return;
        moves(block.clockwise ? BlockKind.arcClockwise : BlockKind.arcCounterClockwise, this.feed_mm_min / 60);
        break;
      case 'dwell':
        text = `G4P${block.ms / 1000}`;
        this.expected.push([BlockKind.dwell, line, this.x_um / 1000, this.y_um / 1000, 0, block.ms / 1000]);
        break;
      case 'torch':
        text = block.on ? 'M3' : 'M5';
        this.expected.push([
          block.on ? BlockKind.torchOn : BlockKind.torchOff,
          line,
          this.x_um / 1000,
          this.y_um / 1000,
          0,
          0,
        ]);
        break;
      case 'feed':
        this.feed_mm_min = block.mm_min;
        text = `F${block.mm_min}`;
    }
    if (style.number_line) text = `N${line}${text}`;
    text = [...text].join(style.gap) + style.comment;
    this.lines.push(style.lower ? text.toLowerCase() : text);
  }

  /** An arc whose centre stands on the middle line of its chord, given to a tenth of a micrometre. */
  private arc(block: Extract<Block, { kind: 'arc' }>, style: Style): string {
    const x_mm = (block.x_um - this.x_um) / 1000;
    const y_mm = (block.y_um - this.y_um) / 1000;
    if (Math.sqrt(x_mm * x_mm + y_mm * y_mm) < 1) return '';
    const i = (x_mm / 2 - y_mm * block.sharp).toFixed(4);
    const j = (y_mm / 2 + x_mm * block.sharp).toFixed(4);
    return `${block.clockwise ? 'G2' : 'G3'}${this.target(block, style)}I${i}J${j}`;
  }

  private target(to: { x_um: number; y_um: number }, style: Style): string {
    const x_um = style.incremental ? to.x_um - this.x_um : to.x_um;
    const y_um = style.incremental ? to.y_um - this.y_um : to.y_um;
    this.x_um = to.x_um;
    this.y_um = to.y_um;
    return `${style.incremental ? 'G91' : 'G90'}X${(x_um / 1000).toFixed(3)}Y${(y_um / 1000).toFixed(3)}`;
  }
}

describe('a program written and read', () => {
  it('is the same program, however it is written', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(blocks, styles), { maxLength: 30 }), (list) => {
        const writer = new Writer();
        for (const [block, style] of list) writer.write(block, style);
        const program = parseProgram([...writer.lines, 'M30'].join('\n'), 'test.nc');
        expect(program.count).toBe(writer.expected.length + 1);
        writer.expected.forEach(([kind, line, x_mm, y_mm, feed_mm_s, dwell_s], block) => {
          expect(program.kind[block]).toBe(kind);
          expect(program.line[block]).toBe(line);
          // Incremental sums round: 30 sums of numbers below 1000 stay within a picometre.
          expect(Math.abs(program.x_mm[block] - x_mm)).toBeLessThan(1e-9);
          expect(Math.abs(program.y_mm[block] - y_mm)).toBeLessThan(1e-9);
          expect(program.feed_mm_s[block]).toBe(feed_mm_s);
          expect(program.dwell_s[block]).toBe(dwell_s);
        });
      }),
      { numRuns: 500 },
    );
  });

  it('of 100 000 lines is read whole', () => {
    const lines = ['G21 F3000'];
    for (let line = 2; line < 100_000; line++) lines.push(`N${line} G1 X${line % 2} Y${(line % 1000) / 10}`);
    lines.push('M30');
    const program = parseProgram(lines.join('\n'), 'test.nc');
    expect(program.line_count).toBe(100_000);
    expect(program.count).toBe(99_999);
    expect(program.line[99_998]).toBe(100_000);
    expect(program.y_mm[99_997]).toBe(99.9);
  });
});

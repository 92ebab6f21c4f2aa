import { describe, expect, it } from 'vitest';
import { BlockKind, noteTexts, type Program, parseProgram } from '../../../sim/world/motion/index.js';

const read = (...lines: string[]): Program => parseProgram(lines.join('\n'), 'test.nc');
const kinds = (program: Program) => [...program.kind.slice(0, program.count)];
const ends = (program: Program) =>
  Array.from({ length: program.count }, (_, block) => [program.x_mm[block], program.y_mm[block]]);

describe('reading a program', () => {
  it('reads rapids, lines, both arcs, the dwell, the torch and the end in order', () => {
    const program = read('G0 X1 Y2', 'M3', 'G1 X3 F600', 'G2 X5 Y2 I1 J0', 'G3 X7 Y2 R1', 'G4 P0.5', 'M5', 'M30');
    expect(kinds(program)).toEqual([
      BlockKind.rapid,
      BlockKind.torchOn,
      BlockKind.line,
      BlockKind.arcClockwise,
      BlockKind.arcCounterClockwise,
      BlockKind.dwell,
      BlockKind.torchOff,
      BlockKind.end,
    ]);
    expect([...program.line.slice(0, 8)]).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    expect(ends(program)[4]).toEqual([7, 2]);
    expect(program.feed_mm_s[2]).toBe(10);
    expect(program.dwell_s[5]).toBe(0.5);
    expect([program.centre_x_mm[3], program.centre_y_mm[3]]).toEqual([4, 2]);
    expect(program.line_count).toBe(8);
  });

  it('keeps the motion code and the feed from line to line', () => {
    const program = read('G1 X10 F1200', 'Y10', 'X0', 'M2');
    expect(kinds(program).slice(0, 3)).toEqual([BlockKind.line, BlockKind.line, BlockKind.line]);
    expect(ends(program).slice(0, 3)).toEqual([
      [10, 0],
      [10, 10],
      [0, 10],
    ]);
    expect(program.feed_mm_s[2]).toBe(20);
  });

  it('adds up incremental moves and goes back to absolute ones', () => {
    const program = read('G91 G0 X10 Y5', 'X-2.5', 'G90 Y1', 'M2');
    expect(ends(program).slice(0, 3)).toEqual([
      [10, 5],
      [7.5, 5],
      [7.5, 1],
    ]);
  });

  it('reads inches, and a units word counts for its whole line', () => {
    const program = read('G20 G1 X1 F60', 'G21 X1 F60', 'M2');
    expect(program.x_mm[0]).toBe(25.4);
    expect(program.feed_mm_s[0]).toBeCloseTo(25.4, 12);
    expect(program.x_mm[1]).toBe(1);
    expect(program.feed_mm_s[1]).toBe(1);
  });

  it('leaves the feed as it is when the units change without an F word', () => {
    const program = read('G20 G1 X1 F60', 'G21 X1', 'M2');
    expect(program.feed_mm_s[1]).toBeCloseTo(25.4, 12);
  });

  it('lets the torch words of a line work before its motion and the end after it', () => {
    const program = read('M3 G1 X1 F600', 'X2 M30');
    expect(kinds(program)).toEqual([BlockKind.torchOn, BlockKind.line, BlockKind.line, BlockKind.end]);
  });

  it('accepts the words that set what is in effect anyway', () => {
    expect(read('G17 G21 G40 G54 G80 G90 G94 S40', 'G0 X1', 'M30').count).toBe(2);
  });

  it('accepts lower case, leading zeros, signs, points at either end and blanks inside words', () => {
    const program = read('n10 g00 x+.5 y-1.', '\tG 0 1 X 1 2 . 5 F 6 00', 'm3 0');
    expect(ends(program)[0]).toEqual([0.5, -1]);
    expect(ends(program)[1]).toEqual([12.5, -1]);
    expect(program.feed_mm_s[1]).toBe(10);
  });

  it('passes over both kinds of comment, blank lines and every kind of line end', () => {
    const program = parseProgram('(one) G0 (two) X1 ; three G9\r\n\r\n\rX2\nM30', 'test.nc');
    expect(ends(program).slice(0, 2)).toEqual([
      [1, 0],
      [2, 0],
    ]);
    expect([...program.line.slice(0, 3)]).toEqual([1, 4, 5]);
  });

  it('ends at the closing % and takes letters with marks in comments', () => {
    const program = read('%', '(Türband)', 'G0 X1', '%');
    expect(kinds(program)).toEqual([BlockKind.rapid, BlockKind.end]);
  });

  it('drops a byte order mark', () => {
    expect(parseProgram('\ufeffG0 X1\nM30', 'test.nc').count).toBe(2);
  });

  it('sets the mode alone when a motion code has no axis words', () => {
    const program = read('G1 F600', 'X1', 'G80', 'G0', 'X2', 'M30');
    expect(kinds(program)).toEqual([BlockKind.line, BlockKind.rapid, BlockKind.end]);
  });

  it('takes an arc with a centre and no end for a full circle', () => {
    const program = read('G0 X10', 'G3 I-5 F600', 'M30');
    expect(ends(program)[1]).toEqual([10, 0]);
    expect([program.centre_x_mm[1], program.centre_y_mm[1]]).toEqual([5, 0]);
  });

  it('reads long numbers to the nearest double', () => {
    const program = read('G0 X12.3456789012345678901 Y0.1', 'M30');
    expect(ends(program)[0]).toEqual([12.345678901234567, 0.1]);
  });
});

describe('notes', () => {
  it('counts Z words with their first line and moves nothing for them', () => {
    const program = read('G21', 'G0 Z5', 'X1 Z3', 'M30');
    expect(kinds(program)).toEqual([BlockKind.rapid, BlockKind.end]);
    expect(program.notes.z_words).toMatchObject({ count: 2, first_line: 2 });
    expect(noteTexts(program)).toEqual([
      'test.nc:2: 2 Z word(s), the first here; Z is owned by the box while it cuts, so they move nothing',
    ]);
  });

  it('tells of S words, block deletes, lines after the end and assumed units', () => {
    const program = read('/G0 X1', 'S40', 'M30', '(fine)', 'G0 X5', '%');
    expect(program.notes.block_delete_lines).toMatchObject({ count: 1, first_line: 1 });
    expect(program.notes.s_words).toMatchObject({ count: 1, first_line: 2 });
    expect(program.notes.lines_after_end).toMatchObject({ count: 1, first_line: 5 });
    expect(program.notes.units_stated).toBe(false);
    expect(noteTexts(program)).toHaveLength(4);
    expect(program.x_mm[0]).toBe(1);
  });

  it('has nothing to tell of a plain program', () => {
    expect(noteTexts(read('G21 G0 X1', 'M30'))).toEqual([]);
  });
});

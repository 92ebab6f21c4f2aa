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

  it('takes a code twice, and G80 beside a motion code where nothing moves', () => {
    expect(ends(read('G0 G0 X1 M5 M5', 'G80 G1 F60', 'X2', 'G0 G80', 'X3', 'M30'))).toEqual([
      [0, 0],
      [1, 0],
      [2, 0],
      [3, 0],
      [3, 0],
    ]);
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

describe('places of the table', () => {
  const origins = {
    G53_x_mm: -10,
    G53_y_mm: -20,
    G55_x_mm: 100,
    G55_y_mm: 50,
    G59_3_x_mm: 7,
    G28_x_mm: 1,
    G28_y_mm: 2,
    G30_x_mm: 3,
  };
  const at = (...lines: string[]) => ends(parseProgram([...lines, 'M30'].join('\n'), 'test.nc', origins)).slice(0, -1);

  it.each([
    ['a system of the setup', ['G55 G0 X5 Y6'], [[105, 56]]],
    ['the last of them', ['G59.3 G0 X5 Y6'], [[12, 6]]],
    [
      'its own again',
      ['G55', 'G0 X5 Y6', 'G54 X5 Y6'],
      [
        [105, 56],
        [5, 6],
      ],
    ],
    [
      'machine coordinates, on one line alone',
      ['G55 G0', 'G53 X5 Y6', 'X0 Y0'],
      [
        [-5, -14],
        [100, 50],
      ],
    ],
    [
      'machine coordinates in G91 too',
      ['G0 X1 Y1', 'G91', 'G53 X5 Y6', 'X1'],
      [
        [1, 1],
        [-5, -14],
        [-4, -14],
      ],
    ],
    ['an origin that the program sets', ['G10 L2 P2 X30 Y40', 'G55 G0 X1 Y1'], [[21, 21]]],
    ['an origin of one axis', ['G10 L2 P2 X30', 'G55 G0 X1 Y1'], [[21, 51]]],
    [
      'an origin where the torch stands',
      ['G0 X8 Y9', 'G10 L20 P1 X0 Y0', 'G0 X1 Y1'],
      [
        [8, 9],
        [9, 10],
      ],
    ],
    [
      'an origin of the chosen system',
      ['G55', 'G0 X1 Y1', 'G10 L20 P0 X0 Y0', 'X1 Y1'],
      [
        [101, 51],
        [102, 52],
      ],
    ],
    [
      'a shift',
      ['G0 X8 Y9', 'G92 X0 Y0', 'G0 X1 Y1', 'G92.1', 'X0 Y0'],
      [
        [8, 9],
        [9, 10],
        [0, 0],
      ],
    ],
    ['a shift in every system', ['G92 X10', 'G55 G0 X0 Y0'], [[90, 50]]],
    [
      'a shift set aside',
      ['G92 X10', 'G92.2', 'G0 X1 Y0', 'G92.3', 'X1'],
      [
        [1, 0],
        [-9, 0],
      ],
    ],
    ['a shift taken away for good', ['G92 X10', 'G92.1', 'G92.3', 'G0 X1 Y0'], [[1, 0]]],
    ['a shift that a new origin keeps', ['G92 X10', 'G10 L20 P1 X5 Y0', 'G0 X5 Y1'], [[0, 1]]],
    [
      'the reference point',
      ['G0 X8 Y9', 'G28'],
      [
        [8, 9],
        [1, 2],
      ],
    ],
    [
      'the reference point by way of a place',
      ['G28 X20 Y30'],
      [
        [20, 30],
        [1, 2],
      ],
    ],
    [
      'one axis of it',
      ['G0 X8 Y9', 'G91 G28 X0'],
      [
        [8, 9],
        [1, 9],
      ],
    ],
    ['none of them by Z alone', ['G0 X8 Y9', 'G91 G28 Z0', 'G90'], [[8, 9]]],
    [
      'the second reference point',
      ['G0 X8 Y9', 'G30 X8 Y9'],
      [
        [8, 9],
        [3, 0],
      ],
    ],
    [
      'no motion in a probe and what follows it',
      ['G0 X8 Y9', 'G38.2 Z-5 F60', 'G92 Z0', 'G10 L20 P1 Z0', 'G43.1 Z2'],
      [[8, 9]],
    ],
    [
      'a motion after them by the code of before',
      ['G0 X8 Y9', 'G92 X0 Y0', 'X1'],
      [
        [8, 9],
        [9, 9],
      ],
    ],
  ] as const)('goes to %s', (_, lines, places) => {
    expect(at(...lines)).toEqual(places);
  });

  it('has a name in the setup for each of them', () => {
    const names = [
      ...['G53_x_mm', 'G53_y_mm', 'G54_x_mm', 'G54_y_mm', 'G55_x_mm', 'G55_y_mm', 'G56_x_mm', 'G56_y_mm'],
      ...['G57_x_mm', 'G57_y_mm', 'G58_x_mm', 'G58_y_mm', 'G59_x_mm', 'G59_y_mm', 'G59_1_x_mm', 'G59_1_y_mm'],
      ...['G59_2_x_mm', 'G59_2_y_mm', 'G59_3_x_mm', 'G59_3_y_mm', 'G28_x_mm', 'G28_y_mm', 'G30_x_mm', 'G30_y_mm'],
    ];
    const each = Object.fromEntries(names.map((name, k) => [name, 10 + k]));
    const words = ['G53', 'G54', 'G55', 'G56', 'G57', 'G58', 'G59', 'G59.1', 'G59.2', 'G59.3', 'G28', 'G30'];
    words.forEach((word, k) => {
      const text = k < 10 ? `${word} G0 X0 Y0\nM30` : `G0 X1 Y1\n${word}\nM30`;
      expect(ends(parseProgram(text, 'test.nc', each)).at(-1), word).toEqual([10 + 2 * k, 11 + 2 * k]);
    });
  });

  it('starts at the origin of G54', () => {
    const program = parseProgram('M3\nG1 X10 F600\nM30', 'test.nc', { G54_x_mm: 30, G54_y_mm: 40 });
    expect(ends(program)).toEqual([
      [30, 40],
      [40, 40],
      [40, 40],
    ]);
  });

  it('notes a system of which the setup says nothing, once, and none that it knows or that the program sets', () => {
    const notes = (...lines: string[]) =>
      noteTexts(parseProgram(['G21', ...lines, 'M30'].join('\n'), 'test.nc', origins));
    const unknown =
      'test.nc:2:1: "G56" lies at the lower left corner of the sheet: the setup gives it no origin (2 times); ' +
      'give machine.origins.G56_x_mm and G56_y_mm in the setup';
    expect(notes('G56 G0 X5', 'G54 X5', 'G56 X5')).toEqual([unknown]);
    expect(notes('G54 G0 X5')).toEqual([]);
    expect(notes('G55 G0 X5', 'G59.3 X5')).toEqual([]);
    expect(notes('G10 L2 P3 X40 Y40', 'G56 G0 X5')).toEqual([]);
  });

  it('reads centres as places in G90.1, and from the start again in G91.1', () => {
    const program = read('G55', 'G0 X10 Y5', 'G90.1', 'G2 X12 Y7 I12 J5 F60', 'G91.1 G2 X14 Y5 I0 J-2', 'M30');
    expect([program.centre_x_mm[1], program.centre_y_mm[1]]).toEqual([12, 5]);
    expect([program.centre_x_mm[2], program.centre_y_mm[2]]).toEqual([12, 5]);
  });
});

describe('pauses and ends', () => {
  it.each(['M0', 'M1', 'M60'])('%s turns the torch off and waits', (pause) => {
    const program = read('M3', 'G1 X1 F600', pause, 'M3', 'G1 X2', 'M5', 'M2');
    expect(kinds(program)).toEqual([
      BlockKind.torchOn,
      BlockKind.line,
      BlockKind.torchOff,
      BlockKind.dwell,
      BlockKind.torchOn,
      BlockKind.line,
      BlockKind.torchOff,
      BlockKind.end,
    ]);
    expect(program.dwell_s[3]).toBe(10);
  });

  it.each([
    ['no end', ['G21 G0 X1', 'X2'], 'test.nc:2:1: "X2" is the last line: M2, M30 or a closing % is missing after it'],
    ['an opening % alone', ['%', 'G21 G0 X1'], 'test.nc:2:1: "G21 G0 X1" is the last line'],
  ])('takes %s for the end, with a note', (_, lines, note) => {
    const program = read(...lines);
    expect(kinds(program).at(-1)).toBe(BlockKind.end);
    expect(noteTexts(program)[0]).toContain(note);
  });

  it('takes tape marks and program numbers', () => {
    expect(kinds(read('%1042', 'O1042 (gate)', ':7', 'N5 O8 G21 G0 X1', '% (end)', 'rest'))).toEqual([
      BlockKind.rapid,
      BlockKind.end,
    ]);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseProgram, planProgram } from '../../../sim/world/motion/index.js';
import { errorOf, LIMITS } from './support.js';

/** Text before M30, code, place and the quoted words. */
const REFUSED: readonly [name: string, text: string, code: string, place: string, quote: string][] = [
  ['an unknown G word', 'G21\nG0 X1 G77', 'program-word-unknown', '2:7', 'G77'],
  ['a G word beyond every table', 'G4711', 'program-word-unknown', '1:1', 'G4711'],
  ['a G word with decimals', 'G91.7', 'program-word-unknown', '1:1', 'G91.7'],
  ['a G word between two tenths', 'G91.15', 'program-word-unknown', '1:1', 'G91.15'],
  ['an M word with decimals', 'M6.1', 'program-word-unknown', '1:1', 'M6.1'],
  ['another plane', 'G18', 'program-word-unknown', '1:1', 'G18'],
  ['a radius compensation', 'G41', 'program-word-unknown', '1:1', 'G41'],
  ['a turn of a spindle backwards', 'M4', 'program-word-unknown', '1:1', 'M4'],
  ['a subprogram call', 'M98 P10 L2', 'program-word-unknown', '1:1', 'M98'],
  ['inverse time', 'G93', 'program-word-unknown', '1:1', 'G93'],
  ['a spline', 'G5 X1 I1 J1 P1 Q1 F60', 'program-word-unknown', '1:1', 'G5'],
  ['a cycle', 'G81 X1 Z-2 R1 F60', 'program-word-unknown', '1:1', 'G81'],
  ['a negative code', 'M-3', 'program-word-unknown', '1:1', 'M-3'],
  ['an unknown letter', 'G0 X1 A5', 'program-word-unknown', '1:7', 'A5'],
  ['a subprogram', 'O100 sub', 'program-word-unknown', '1:1', 'O100 sub'],
  ['a subprogram by name', 'o<hinge> call [1]', 'program-word-unknown', '1:1', 'o<hinge> call'],
  ['a branch', 'O1 if [#1 GT 2]', 'program-word-unknown', '1:1', 'O1 if'],
  ['a L word alone', 'L2', 'program-word-unknown', '1:1', 'L2'],
  ['a probe that goes sideways', 'G38.2 X5 F60', 'program-word-without-use', '1:7', 'X5'],
  ['an axis after a probe', 'G38.2 Z-5 F60\nX5', 'program-motion-missing', '2:1', 'X5'],
  ['an origin without a system', 'G10 L2 X5', 'program-word-without-use', '1:1', 'G10'],
  ['an origin of a system beyond the ninth', 'G10 L2 P10 X5', 'program-range', '1:8', 'P10'],
  ['an origin that is turned', 'G10 L2 P1 R30', 'program-word-unknown', '1:11', 'R30'],
  ['a table of another kind', 'G10 L3 P1', 'program-word-unknown', '1:5', 'L3'],
  ['words of letters', 'G21\nHINGE PLATE', 'program-number-missing', '2:1', 'HINGE'],
  ['an exponent', 'G0 X1E2', 'program-word-unknown', '1:6', 'E2'],
  ['a K word', 'G2 X1 I1 K1 F60', 'program-word-unknown', '1:10', 'K1'],
  ['two motion codes', 'G0 G1 X1', 'program-words-contradict', '1:4', 'G1'],
  ['both units', 'G20 G21', 'program-words-contradict', '1:5', 'G21'],
  ['both distance modes', 'G90 G91', 'program-words-contradict', '1:5', 'G91'],
  ['torch on and off', 'M3 M5', 'program-words-contradict', '1:4', 'M5'],
  ['two ends', 'M2 M30', 'program-words-contradict', '1:4', 'M30'],
  ['motion with its end', 'G0 X1 G80', 'program-words-contradict', '1:7', 'G80'],
  ['a letter twice', 'G0 X1 Y1 x2', 'program-word-repeated', '1:10', 'x2'],
  ['a letter without a number', 'G0 XY1', 'program-number-missing', '1:4', 'X'],
  ['a sign without digits', 'G0 X- Y1', 'program-number-missing', '1:4', 'X-'],
  ['two points', 'G0 X1.2.3', 'program-character', '1:8', '.'],
  ['two signs', 'G0 X--1', 'program-number-missing', '1:4', 'X-'],
  ['a parameter', '#1=5', 'program-character', '1:1', '#'],
  ['an expression', 'G0 X[1+2]', 'program-character', '1:5', '['],
  ['a use of a parameter', 'G0 X#1', 'program-character', '1:5', '#'],
  ['a sign that is no word', 'G0 X1 @', 'program-character', '1:7', '@'],
  ['a letter with a mark outside a comment', 'G0 X1 ü', 'program-character', '1:7', 'ü'],
  ['a sign outside the basic plane', 'G0 X1 🔥', 'program-character', '1:7', '🔥'],
  ['% behind a word', 'G0 X1 %', 'program-character', '1:7', '%'],
  ['a late block delete', 'G0 X1 / Y1', 'program-character', '1:7', '/'],
  ['a closing bracket alone', 'G0 X1 )', 'program-character', '1:7', ')'],
  ['an open comment', 'G0 X1 (left open', 'program-comment', '1:7', '(left open'],
  ['two centres that are read as places', 'G90.1 G0 X5 Y5\nG2 X9 Y5 I2 J0 F60', 'program-arc-radii', '2:10', 'I2'],
  ['a late line number', 'G0 N5 X1', 'program-line-number', '1:4', 'N5'],
  ['a line number with a point', 'N1.5 G0 X1', 'program-line-number', '1:1', 'N1.5'],
  ['a line number with a sign', 'N-1 G0 X1', 'program-line-number', '1:1', 'N-1'],
  ['a line of 257 characters', `G0 X1 ${' '.repeat(251)}`, 'program-line-too-long', '1:1', 'G0 X1'],
  ['an axis word without motion', 'X5', 'program-motion-missing', '1:1', 'X5'],
  ['an axis word after G80', 'G0 X1\nG80\nY1', 'program-motion-missing', '3:1', 'Y1'],
  ['an axis word beside G80', 'G80 Y1 X1', 'program-motion-missing', '1:5', 'Y1'],
  ['a line without a feed', 'G1 X1', 'program-feed-missing', '1:1', 'G1'],
  ['a line with a feed of 0', 'G1 X1 F0', 'program-feed-missing', '1:1', 'G1'],
  ['an arc without a feed', 'G2 X1 R1', 'program-feed-missing', '1:1', 'G2'],
  ['a later line without a feed', 'G1\nY1 X1', 'program-feed-missing', '2:1', 'Y1'],
  ['a negative feed', 'F-5', 'program-feed', '1:1', 'F-5'],
  ['a feed of a kilometre a minute and more', 'F1000001', 'program-feed', '1:1', 'F1000001'],
  ['a dwell without a time', 'G4', 'program-dwell', '1:1', 'G4'],
  ['a negative dwell', 'G4 P-1', 'program-dwell', '1:4', 'P-1'],
  ['a dwell of more than an hour', 'G4 P3601', 'program-dwell', '1:4', 'P3601'],
  ['a P word alone', 'P1', 'program-word-without-use', '1:1', 'P1'],
  ['an I word with a line', 'G1 X1 I1 F60', 'program-word-without-use', '1:7', 'I1'],
  ['a J word alone', 'J1', 'program-word-without-use', '1:1', 'J1'],
  ['an R word with a rapid', 'G0 X1 R1', 'program-word-without-use', '1:7', 'R1'],
  ['an arc without centre and radius', 'G2 X1 F60', 'program-arc-centre', '1:1', 'G2'],
  ['a later arc without centre and radius', 'G2 X1 R1 F60\nX2', 'program-arc-centre', '2:1', 'X2'],
  ['a centre and a radius', 'G2 X2 I1 R1 F60', 'program-words-contradict', '1:10', 'R1'],
  ['a radius to the start', 'G0 X1\nG2 X1 R1 F60', 'program-arc-radius', '2:7', 'R1'],
  ['a radius that does not reach', 'G2 X10 R4 F60', 'program-arc-radius', '1:8', 'R4'],
  ['a radius of 0', 'G2 X0.001 R0 F60', 'program-arc-radius', '1:11', 'R0'],
  ['a centre on the start', 'G2 X10 I0 F60', 'program-arc-radius', '1:8', 'I0'],
  ['radii that differ', 'G2 X10 J5 F60', 'program-arc-radii', '1:8', 'J5'],
  ['a place beyond any table', 'G0 X100001', 'program-range', '1:4', 'X100001'],
  ['a sum beyond any table', 'G91 G0 X60000\nX60000', 'program-range', '2:1', 'X60000'],
];

describe('refusing a program', () => {
  it.each(REFUSED)('names place and words of %s', (_, text, code, place, quote) => {
    const error = errorOf(`${text}\nM30\n`);
    expect(error?.code).toBe(code);
    expect(error?.what.startsWith(`test.nc:${place}: "${quote}" `)).toBe(true);
    expect(error?.remedy.length).toBeGreaterThan(10);
  });

  it.each([
    ['nothing', ''],
    ['blanks', ' \n\n\t\n'],
    ['comments', '(gate)\n; more\n'],
    ['two % lines', '%\n%\n'],
  ])('calls %s an empty program', (_, text) => {
    expect(errorOf(text)?.code).toBe('program-empty');
    expect(errorOf(text)?.message).toBe(
      'test.nc: the program is empty; give the RS-274 program of the cut; it ends with M30',
    );
  });

  it.each([
    ['a NUL byte', 'G0 X1\nY\0', 'test.nc:2:2: the program holds the control byte 0x00'],
    ['an escape byte', '\x1b[0m', 'test.nc:1:1: the program holds the control byte 0x1b'],
    ['bytes that are not UTF-8', 'G0 \ufffd', 'test.nc:1:4: the program holds bytes that are not text'],
  ])('refuses %s as not text', (_, text, what) => {
    expect(errorOf(text)).toMatchObject({ code: 'program-binary', what });
  });

  it.each([
    ['a word', 'G0 X1\nG0 X', '2:4', 'X'],
    ['a number at its sign', 'G0 X1\nG0 X-', '2:4', 'X-'],
    ['a comment', 'G0 X1\nG0 X2 (hin', '2:7', '(hin'],
  ])('says where a program is cut off inside %s', (_, text, place, quote) => {
    expect(errorOf(text)).toMatchObject({
      code: 'program-truncated',
      what: `test.nc:${place}: "${quote}" is cut off: the program ends in the middle of a line`,
    });
  });

  it('tells everything that is wrong at once, grouped, and nothing that only follows from it', () => {
    const error = errorOf(
      [
        'G21 G90 F600',
        'G41 D1 G1 X5 Y0',
        'G2 X5 Y10 I0 J5',
        'G1 X[3]',
        'G42 D2 G1 X9',
        'G0 X1 Q7',
        'G41 D3',
        'M30',
      ].join('\n'),
    );
    expect(error?.code).toBe('program-word-unknown');
    expect(error?.what.split('\n').filter((_, line) => line % 2 === 1)).toEqual([
      '  test.nc:2:1: "G41" asks for cutter compensation (2 times)',
      '  test.nc:4:5: "[" is a parameter or an expression',
      '  test.nc:5:1: "G42" asks for cutter compensation',
      '  test.nc:6:7: "Q7" belongs to a word that is not on its line',
    ]);
  });

  it.each([
    ['a feed in an expression', 'G1 X5 F[600]\nX6\nM30', 1],
    ['the points of a spline', 'G5 X1 Y1 I1 J1 P1 Q1 F60\nX2 Y2 P1 Q1\nX3\nM30', 1],
    ['an arc from a place that is not known', 'F60 G1 X[2]\nG2 X9 Y0 I3 J0\nM30', 1],
    ['a missing feed', 'G1 X5\nX6\nG2 X8 I1\nM30', 1],
  ])('tells %s once', (_, text, kinds) => {
    expect(errorOf(text)?.what.match(/test.nc:\d+:\d+: "/g)).toHaveLength(kinds);
  });

  it('shows twenty kinds of errors and counts the rest', () => {
    const text = Array.from({ length: 30 }, (_, k) => `G${300 + k}`).join('\n');
    expect(errorOf(text)?.what.match(/test.nc:\d+:\d+: "/g)).toHaveLength(20);
    expect(errorOf(text)?.what).toContain('and 10 more kinds');
  });

  it('takes 256 characters on a line', () => {
    expect(errorOf(`G0 X1 ${' '.repeat(250)}\nM30`)).toBeUndefined();
    expect(errorOf(`G0 (${'x'.repeat(5000)}) X1 ${' '.repeat(249)};${'y'.repeat(5000)}\nM30`)).toBeUndefined();
  });

  it('answers any bytes with a program or a StandoffError', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => {
        errorOf(Buffer.from(bytes).toString('latin1'));
        errorOf(Buffer.from(bytes).toString('utf8'));
      }),
      { numRuns: 2000 },
    );
  });

  it('answers any order of plausible pieces with a program that can be planned, or a StandoffError', () => {
    const pieces = [
      ...['G0', 'G1', 'G2', 'G3', 'G4', 'G20', 'G21', 'G80', 'G90', 'G91', 'M3', 'M5', 'M30', 'P1', 'F600'],
      ...['G28', 'G30', 'G53', 'G55', 'G10', 'L2', 'L20', 'G92', 'G92.1', 'G92.3', 'G90.1', 'M0', 'G43.1', 'O7', 'T1'],
      ...['X1', 'X-2.5', 'Y0', 'Y3', 'Z1', 'I1', 'J-.5', 'R2', 'R-3', 'N7', '(a)', ';', '%', '/', '\n', '\r'],
      ...['\n', '\n', ' ', 'X', '-', '.', '1', '#', '(', 'é', 'G', 'M', '99999999999999999999'],
    ];
    let planned = 0;
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...pieces), { maxLength: 12 }), (list) => {
        const text = `${list.join('')}\nM30`;
        if (errorOf(text) !== undefined) return;
        const plan = planProgram(parseProgram(text, 'test.nc'), LIMITS);
        expect(Number.isFinite(plan.duration_s)).toBe(true);
        planned++;
      }),
      { numRuns: 5000 },
    );
    expect(planned).toBeGreaterThan(100);
  });
});

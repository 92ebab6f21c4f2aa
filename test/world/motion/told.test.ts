import { describe, expect, it } from 'vitest';
import { BlockKind, noteTexts, type Program, parseProgram } from '../../../sim/world/motion/index.js';

const read = (...lines: string[]): Program => parseProgram(lines.join('\n'), 'test.nc');
const kinds = (program: Program) => [...program.kind.slice(0, program.count)];

describe('notes', () => {
  const sentences = (...lines: string[]) => noteTexts(read(...lines));

  it('counts Z words with their first place and moves nothing for them', () => {
    const program = read('G21', 'G0 Z5', 'X1 Z3', 'M30');
    expect(kinds(program)).toEqual([BlockKind.rapid, BlockKind.end]);
    expect(noteTexts(program)).toEqual([
      'test.nc:2:4: "Z5" is a height: Z is owned by the box while it cuts, so nothing moves (2 times)',
    ]);
  });

  it('tells of S words, block deletes, lines after the end and assumed units, once each', () => {
    const program = read('/G0 X1', '/1 X2', 'S40', 'M30', '(fine)', 'G0 X5', '%', 'hello');
    expect(noteTexts(program).map((text) => text.split(';')[0])).toEqual([
      'test.nc:1:1: "/G0 X1" is marked by / as a line that can be left out',
      'test.nc:1:5: "X1" comes before any G20 or G21: lengths are read as millimetres',
      'test.nc:3:1: "S40" is a speed: the cutting current is set on the supply',
      'test.nc:6:1: "G0 X5" comes after the end of the program, and is not read (2 times)',
    ]);
    expect(program.x_mm[0]).toBe(1);
  });

  it('has one note for each word that is passed over', () => {
    const words =
      'G49 G43 H1 G64 P0.1 Q1\nG61\nT1 M6\nT2 M6\nM7\nM64 P1\nM66 P1 L3 Q5\nM68 E0 Q2\nG0 A0 X1\nM19 R90\nM120 P1'.split(
        '\n',
      );
    const texts = sentences('G21', ...words, 'M30');
    expect(texts.map((text) => /"(.*)"/.exec(text)?.[1])).toEqual(
      ['G49', 'G43', 'H1', 'G64', 'G61', 'T1', 'M6', 'M7', 'M64', 'M66', 'M68', 'A0', 'M19', 'M120'].filter(
        (w) => w !== 'H1',
      ),
    );
    expect(texts.find((text) => text.includes('"T1"'))).toContain('(2 times)');
  });

  it('takes rounded numbers of an arc, with a note, and bends the path to its end', () => {
    const program = read('G21 G90 G0 X10', 'G3 X0 Y10.02 I-10 J0 F600', 'M30');
    expect(noteTexts(program)[0]).toContain('a radius of 10.0000 mm at the start and 10.0200 mm at the end');
  });

  it('has nothing to tell of a plain program', () => {
    expect(noteTexts(read('G21 G0 X1', 'M30'))).toEqual([]);
  });
});

describe('what is dangerous or senseless', () => {
  const warnings = (...lines: string[]) => noteTexts(read('G21 G90 F600', ...lines), 'warning');

  it.each([
    [
      'a rapid with the torch on',
      ['M3', 'G1 X9', 'G0 X12', 'X15', 'M5', 'M2'],
      '4:1: "G0" moves at rapid speed while the torch is on (2 times); put M5',
    ],
    [
      'M3 on the line of the rapid',
      ['G0 X9 M3', 'G1 X12', 'M5', 'M2'],
      '2:1: "G0" moves at rapid speed while the torch is on; M3 comes before',
    ],
    ['G28 with the torch on', ['M3', 'G1 X9', 'G28', 'M5', 'M2'], '4:'],
    [
      'a cut without M3',
      ['G1 X9', 'X12', 'M3', 'X15', 'M5', 'M2'],
      '2:1: "G1" moves at feed while the torch is off: nothing is cut there (2 times)',
    ],
    ['M5 missing before M2', ['M3', 'G1 X9', 'M2'], '4:1: "M2" comes while the torch is still on'],
    ['M5 missing at the end', ['M3', 'G1 X9'], '3:1: "G1 X9" comes while the torch is still on'],
    [
      'a torch without a cut',
      ['M3', 'M5', 'M3', 'G1 X9', 'M5', 'M2'],
      '2:1: "M3" turns the torch on, and nothing is cut',
    ],
    [
      'a pause with the torch on',
      ['M3', 'G1 X9', 'M0', 'M3', 'G1 X12', 'M5', 'M2'],
      '4:1: "M0" pauses while the torch is on',
    ],
    ['a torch at a speed of 0', ['M3 S0', 'G1 X9', 'M5', 'M2'], '2:1: "M3" asks for the torch with a speed of 0'],
    ['a dwell in milliseconds', ['M3', 'G4 P500', 'G1 X9', 'M5', 'M2'], '3:4: "P500" waits for a minute or more'],
  ])('%s', (_, lines, text) => {
    const found = warnings(...lines);
    expect(found).toHaveLength(1);
    expect(found[0]).toContain(`test.nc:${text}`);
  });

  it.each([
    ['a plain cut', ['G0 X1', 'M3', 'G1 X9', 'M5', 'G0 X0', 'M2']],
    ['moves of no length', ['G1 X0 Y0', 'M3', 'G0 X0', 'G1 X9', 'M5', 'M2']],
    ['M5 on the line of the rapid', ['M3', 'G1 X9', 'M5 G0 X0', 'M2']],
    ['M3 on the line of the cut', ['M3 G1 X9', 'M5', 'M2']],
    ['a dwell below a minute', ['M3', 'G4 P59', 'G1 X9', 'M5', 'M2']],
  ])('but nothing of %s', (_, lines) => {
    expect(warnings(...lines)).toEqual([]);
  });
});

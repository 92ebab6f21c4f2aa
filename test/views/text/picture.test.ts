import { describe, expect, it } from 'vitest';
import { drawDigits } from '../../../sim/views/terminal/frame.js';
import { heading } from '../../../sim/views/terminal/section.js';
import {
  asciiText,
  clockText,
  DotCanvas,
  fitText,
  fixed,
  Picture,
  TONE_ALARM,
  TONE_QUIET,
  TONE_STRONG,
  tableLines,
  wrapText,
} from '../../../sim/views/text/index.js';

const ASCII = { unicode: false, colour: false };
const UNICODE = { unicode: true, colour: false };
const COLOUR = { unicode: true, colour: true };

describe('a picture', () => {
  it('cuts off what lies outside instead of running on in the next row', () => {
    const picture = new Picture(5, 3, UNICODE);
    picture.text(1, 3, 'abcdef');
    picture.text(0, -2, 'uvwxyz');
    picture.text(3, 0, 'below');
    expect(picture.lines()).toEqual(['wxyz ', '   ab', '     ']);
  });

  it('places text before a column by its width in the style at hand', () => {
    const text = '±0.20';
    const unicode = new Picture(8, 1, UNICODE);
    expect(unicode.textBefore(0, 8, text)).toBe(3);
    const ascii = new Picture(8, 1, ASCII);
    expect(ascii.textBefore(0, 8, text)).toBe(2);
    expect(ascii.lines()).toEqual(['  +-0.20']);
  });

  it('changes the tone only where it changes, and closes a line that ends in one', () => {
    const picture = new Picture(4, 2, COLOUR);
    picture.text(0, 0, 'ab', TONE_STRONG);
    picture.text(0, 2, 'cd', TONE_ALARM);
    picture.text(1, 1, 'x', TONE_QUIET);
    expect(picture.lines()).toEqual(['\x1b[1mab\x1b[0m\x1b[1;31mcd\x1b[0m', ' \x1b[2mx\x1b[0m  ']);
  });
});

describe('a heading', () => {
  const headed = (columns: number) => {
    const picture = new Picture(columns, 1, ASCII);
    heading(picture, { row: 0, column: 0, columns, rows: 1 }, 'mm', ['long words', 'short'], 'note');
    return picture.lines()[0];
  };

  it('says less before it leaves out the note, and never writes one over the other', () => {
    expect(headed(30)).toBe('  mm - long words ----- note -');
    expect(headed(25)).toBe('  mm - short ----- note -');
    expect(headed(20)).toBe('  mm - long words --');
    expect(headed(16)).toBe('  mm - short ---');
  });
});

describe('the canvas of dots', () => {
  const layers = [
    { tone: 0, ascii: ['a', 'b', 'c'] },
    { tone: 1, ascii: ['A', 'B', 'C'] },
  ] as const;
  const drawn = (style: typeof ASCII, dots: readonly (readonly [number, number, number])[]) => {
    const canvas = new DotCanvas(2, 1, layers);
    for (const [x, y, layer] of dots) canvas.dot(x, y, layer);
    const picture = new Picture(2, 1, style);
    canvas.paint(picture, 0, 0);
    return picture.lines()[0];
  };

  it('numbers the braille dots as the standard does (Unicode 15, block 2800: dots 1…8)', () => {
    const places = [
      [0, 0],
      [0, 1],
      [0, 2],
      [1, 0],
      [1, 1],
      [1, 2],
      [0, 3],
      [1, 3],
    ] as const;
    for (let dot = 0; dot < 8; dot++)
      expect(drawn(UNICODE, [[...places[dot], 0]]).codePointAt(0)).toBe(0x2800 + (1 << dot));
  });

  it('joins the dots of all layers in a cell, but shows the front layer in ASCII', () => {
    const both = [
      [0, 0, 1],
      [1, 3, 0],
    ] as const;
    expect(drawn(UNICODE, both)).toBe('⢁ ');
    expect(drawn(ASCII, both)).toBe('A ');
  });

  it('chooses the ASCII character by the height of the dots in the cell', () => {
    expect(drawn(ASCII, [[0, 0, 0]])).toBe('a ');
    expect(drawn(ASCII, [[0, 1, 0]])).toBe('b ');
    expect(drawn(ASCII, [[2, 3, 0]])).toBe(' c');
  });

  it('ignores dots outside and numbers that are none', () => {
    const outside = [
      [-1, 0, 0],
      [4, 0, 0],
      [0, -1, 0],
      [0, 4, 0],
      [Number.NaN, 0, 0],
    ] as const;
    expect(drawn(ASCII, outside)).toBe('  ');
  });
});

describe('text helpers', () => {
  it('turn every character into ASCII, an unknown one into a question mark', () => {
    expect(asciiText('±2 µm × 3 mm/s² — 漢🙂')).toBe('+-2 um x 3 mm/s2 - ??');
  });

  it('cut to a width with an ellipsis only when something is lost', () => {
    expect(fitText('abcdef', 6)).toBe('abcdef');
    expect(fitText('abcdef', 4)).toBe('abc…');
    expect(fitText('abcdef', 0)).toBe('');
  });

  it('break at spaces, indent what follows, and cut words that are too long', () => {
    expect(wrapText('one two three four', 9, 2)).toEqual(['one two', '  three', '  four']);
    expect(wrapText('abcdefghij kl', 4, 1)).toEqual(['abcd', ' efg', ' hij', ' kl']);
    expect(wrapText('  ', 10)).toEqual([]);
    // A percentage stays with its sign.
    expect(wrapText('aa bb 60 %', 8)).toEqual(['aa bb', '60 %']);
  });

  it('print times as clocks and numbers without a negative zero', () => {
    expect([clockText(83.9), clockText(3725), clockText(Number.NaN), clockText(-1)]).toEqual([
      '1:23',
      '1:02:05',
      '-:--',
      '0:00',
    ]);
    expect([fixed(-0.001, 2), fixed(1.005, 1), fixed(Number.NaN, 2), fixed(-0.2, 1)]).toEqual([
      '0.00',
      '1.0',
      '-',
      '-0.2',
    ]);
  });

  it('lay out a table by its widest cells, or refuse when it is too wide', () => {
    const rows = [
      ['1', 'x'],
      ['22', 'long cell'],
    ];
    const lines = ['no.  what', '  1  x', ' 22  long cell'];
    expect(tableLines(['no.', 'what'], rows, ['right', 'left'], 14)).toEqual(lines);
    expect(tableLines(['no.', 'what'], rows, ['right', 'left'], 13)).toBeUndefined();
  });

  it('draw large digits that differ from each other', () => {
    const shapes = new Set<string>();
    for (const digit of '0123456789-.') {
      const picture = new Picture(4, 3, ASCII);
      drawDigits(picture, 0, 0, digit);
      shapes.add(picture.lines().join('\n'));
    }
    expect(shapes.size).toBe(12);
  });
});

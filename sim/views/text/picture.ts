import { asciiText } from './text.js';

/** What a dot belongs to; of two in one cell the later one gives colour and ASCII character. */
export interface Layer {
  readonly tone: number;
  /**
   * ASCII characters for dots in the upper, the middle and the lower part of a cell; the braille pattern
   * shows the place by itself.
   */
  readonly ascii: readonly [string, string, string];
}

/** Braille dot numbering (Unicode 15, block 2800): bit of the dot at column 0…1, row 0…3. */
const DOT_BITS = [0x01, 0x02, 0x04, 0x40, 0x08, 0x10, 0x20, 0x80];
const UPPER = DOT_BITS[0] | DOT_BITS[4];
const LOWER = DOT_BITS[3] | DOT_BITS[7];

/** Dots, two across and four down for each character cell: nearly square on a usual terminal. */
export class DotCanvas {
  /** Dots across. */
  readonly width: number;
  /** Dots down. */
  readonly height: number;
  private readonly dots: Uint8Array[];

  /** @param layers from the back to the front. */
  constructor(
    readonly columns: number,
    readonly rows: number,
    private readonly layers: readonly Layer[],
  ) {
    this.width = columns * 2;
    this.height = rows * 4;
    this.dots = layers.map(() => new Uint8Array(columns * rows));
  }

  dot(x: number, y: number, layer: number): void {
    if (!(x >= 0 && x < this.width && y >= 0 && y < this.height)) return;
    x = Math.floor(x);
    y = Math.floor(y);
    this.dots[layer][(y >> 2) * this.columns + (x >> 1)] |= DOT_BITS[(x & 1) * 4 + (y & 3)];
  }

  /** All dots of column x from y0 to y1, in either order. */
  upright(x: number, y0: number, y1: number, layer: number): void {
    const top = Math.max(0, Math.floor(Math.min(y0, y1)));
    const bottom = Math.min(this.height - 1, Math.floor(Math.max(y0, y1)));
    for (let y = top; y <= bottom; y++) this.dot(x, y, layer);
  }

  /** Copy into a picture; cells without a dot leave what is there. */
  paint(picture: Picture, row: number, column: number): void {
    for (let y = 0; y < this.rows; y++)
      for (let x = 0; x < this.columns; x++) {
        const at = y * this.columns + x;
        let all = 0;
        let front = -1;
        for (let layer = 0; layer < this.layers.length; layer++)
          if (this.dots[layer][at] !== 0) {
            all |= this.dots[layer][at];
            front = layer;
          }
        if (front < 0) continue;
        const { tone, ascii } = this.layers[front];
        const character = picture.style.unicode ? String.fromCharCode(0x2800 + all) : ascii[part(this.dots[front][at])];
        picture.put(row + y, column + x, character, tone);
      }
  }
}

/** 0 upper, 1 middle or all over, 2 lower. */
function part(bits: number): 0 | 1 | 2 {
  const upper = (bits & UPPER) !== 0;
  const lower = (bits & LOWER) !== 0;
  if (upper === lower) return 1;
  return upper ? 0 : 2;
}

/** How text and pictures may be drawn. */
export interface DrawStyle {
  /** Line characters and braille dots; false: bytes below 128 only. */
  readonly unicode: boolean;
  /** Colour escapes; every colour stands beside a word or a mark that says the same. */
  readonly colour: boolean;
}

export interface TerminalStyle extends DrawStyle {
  /** A person looks at this stream and it can be redrawn. */
  readonly live: boolean;
  /** Columns to use: COLUMNS, else the terminal's own, else 80; never below 20. */
  readonly columns: number;
}

/** The part of an output stream that decides how to draw on it. */
type StreamTraits = Partial<Pick<NodeJS.WriteStream, 'isTTY' | 'columns'>>;

const DEFAULT_COLUMNS = 80;
const LEAST_COLUMNS = 20;

/**
 * What a stream can show.
 *
 * - live: a terminal, not `TERM=dumb`, and no `CI`.
 * - colour: a terminal that is not dumb, and no `NO_COLOR` (no-color.org: any non-empty value).
 * - unicode: the first that is set of LC_ALL, LC_CTYPE and LANG (POSIX order) names UTF-8. The console of
 *   Linux itself (`TERM=linux`) has no braille in its font, so it gets ASCII.
 *
 * @param plain the user asked for plain ASCII: neither unicode nor colour.
 */
export function terminalStyle(env: NodeJS.ProcessEnv, stream: StreamTraits, plain = false): TerminalStyle {
  const terminal = stream.isTTY === true && env.TERM !== 'dumb';
  const locale = env.LC_ALL || env.LC_CTYPE || env.LANG || '';
  return {
    live: terminal && !env.CI,
    colour: terminal && !env.NO_COLOR && !plain,
    unicode: /utf-?8/i.test(locale) && env.TERM !== 'linux' && env.TERM !== 'dumb' && !plain,
    columns: Math.max(LEAST_COLUMNS, wholeNumber(env.COLUMNS) ?? wholeNumber(stream.columns) ?? DEFAULT_COLUMNS),
  };
}

function wholeNumber(value: string | number | undefined): number | undefined {
  const number = Number(value);
  return Number.isInteger(number) && number > 0 ? number : undefined;
}

/**
 * What a colour means. Few, and none is the only sign: `target` marks are dotted, `hold` has its word in
 * the lane, `alarm` comes with a sentence.
 */
export const TONE_PLAIN = 0;
export const TONE_QUIET = 1; // axes, units, what can be skipped
export const TONE_STRONG = 2; // what to read first
export const TONE_TARGET = 3; // where the torch or the voltage should be
export const TONE_HOLD = 4; // the regulator has let go
export const TONE_ALARM = 5; // outside the tolerance, or a fault

const RESET = '\x1b[0m';
const SGR = ['', '\x1b[2m', '\x1b[1m', '\x1b[36m', '\x1b[33m', '\x1b[1;31m'];

/** A line of running text in its tone. */
export function toned(text: string, tone: number, style: DrawStyle): string {
  return style.colour && tone !== TONE_PLAIN && text !== '' ? SGR[tone] + text + RESET : text;
}

/** A grid of characters of fixed size. Whatever is written outside is cut off, so lines always fit. */
export class Picture {
  private readonly characters: string[];
  private readonly tones: Uint8Array;

  constructor(
    readonly columns: number,
    readonly rows: number,
    readonly style: DrawStyle,
  ) {
    this.characters = new Array<string>(columns * rows).fill(' ');
    this.tones = new Uint8Array(columns * rows);
  }

  /** One character, already known to be printable in this style. */
  put(row: number, column: number, character: string, tone = TONE_PLAIN): void {
    if (row < 0 || row >= this.rows || column < 0 || column >= this.columns) return;
    const at = row * this.columns + column;
    this.characters[at] = character;
    this.tones[at] = tone;
  }

  /** @returns the column after the text, whether or not all of it was visible. */
  text(row: number, column: number, text: string, tone = TONE_PLAIN): number {
    for (const character of this.style.unicode ? text : asciiText(text)) this.put(row, column++, character, tone);
    return column;
  }

  /** Text that ends before `end`; @returns its first column. */
  textBefore(row: number, end: number, text: string, tone = TONE_PLAIN): number {
    const start = end - [...(this.style.unicode ? text : asciiText(text))].length;
    this.text(row, start, text, tone);
    return start;
  }

  /** A horizontal rule from `column` up to, not including, `end`. */
  rule(row: number, column: number, end: number): void {
    for (let at = column; at < end; at++) this.put(row, at, this.style.unicode ? '─' : '-', TONE_QUIET);
  }

  /** One string a row, each exactly as many visible characters as there are columns. */
  lines(): string[] {
    const lines: string[] = [];
    for (let row = 0; row < this.rows; row++) {
      let line = '';
      let tone = TONE_PLAIN;
      for (let at = row * this.columns; at < (row + 1) * this.columns; at++) {
        if (this.style.colour && this.tones[at] !== tone) {
          if (tone !== TONE_PLAIN) line += RESET;
          tone = this.tones[at];
          line += SGR[tone];
        }
        line += this.characters[at];
      }
      lines.push(tone === TONE_PLAIN ? line : line + RESET);
    }
    return lines;
  }
}

import type { DrawStyle } from './style.js';
import { asciiText } from './text.js';

/**
 * What a colour means. Few, and none is the only sign: `wanted` marks are dotted, `hold` has its word in
 * the lane, `alarm` comes with a sentence.
 */
export const TONE_PLAIN = 0;
export const TONE_QUIET = 1; // axes, units, what can be skipped
export const TONE_STRONG = 2; // what to read first
export const TONE_WANTED = 3; // where the torch or the voltage should be
export const TONE_HOLD = 4; // the regulator has let go
export const TONE_ALARM = 5; // outside what is wanted, or a fault

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

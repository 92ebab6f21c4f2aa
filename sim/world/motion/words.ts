import { placeText, StandoffError, type StandoffErrorCode } from '../../base/index.js';

/** The text of a program and the line that is being read; turns an offset into the place of an error. */
export class Source {
  line = 0;
  line_start = 0;
  line_end = 0;

  private next = 0;
  private next_return = -1;

  constructor(
    readonly text: string,
    readonly file: string,
  ) {}

  /** Steps to the next line (ended by LF, CR LF or CR). @returns false when there is none. */
  nextLine(): boolean {
    if (this.next > this.text.length || (this.next === this.text.length && this.line > 0)) return false;
    this.line++;
    this.line_start = this.next;
    let end = this.text.indexOf('\n', this.next);
    if (end < 0) end = this.text.length;
    if (this.next_return < this.next) {
      this.next_return = this.text.indexOf('\r', this.next);
      if (this.next_return < 0) this.next_return = this.text.length;
    }
    if (this.next_return < end) {
      this.line_end = this.next_return;
      this.next = this.next_return + (this.text.charCodeAt(this.next_return + 1) === LINE_FEED ? 2 : 1);
    } else {
      this.line_end = end;
      this.next = end + 1;
    }
    return true;
  }

  /** The text from one offset to another without the blanks at its ends. */
  quote(from: number, to: number): string {
    return this.text.slice(from, to).trim();
  }

  /** Throws the error of a piece of the current line: `gate.nc:12:7: "X1E5" …; remedy`. */
  fail(code: StandoffErrorCode, from: number, to: number, what: string, remedy: string): never {
    const place = { file: this.file, line: this.line, column: from - this.line_start + 1 };
    throw new StandoffError(code, `${placeText(place)}: "${this.quote(from, to)}" ${what}`, remedy);
  }
}

/**
 * Refuses what is not text: control bytes other than tab and line ends, or the character that a decoder puts
 * in place of bytes that are not UTF-8.
 * @returns the number of lines
 * @throws StandoffError program-binary
 */
export function refuseBinary(text: string, file: string): number {
  let line = 1;
  let line_start = 0;
  for (let index = 0; index < text.length; index++) {
    const unit = text.charCodeAt(index);
    if (unit === LINE_FEED) {
      line++;
      line_start = index + 1;
      continue;
    }
    const control = unit < SPACE ? unit !== TAB && unit !== CARRIAGE_RETURN : unit === DELETE;
    if (!control && unit !== REPLACEMENT) continue;
    const place = placeText({ file, line, column: index - line_start + 1 });
    const byte = control ? `the control byte 0x${unit.toString(16).padStart(2, '0')}` : 'bytes that are not text';
    throw new StandoffError(
      'program-binary',
      `${place}: the program holds ${byte}`,
      'give the plain text of an RS-274 program, not a drawing, an archive or a damaged copy',
    );
  }
  return line;
}

const TAB = 9;
const LINE_FEED = 10;
const CARRIAGE_RETURN = 13;
const SPACE = 32;
const DELETE = 127;
const REPLACEMENT = 0xfffd;

/**
 * The words of one line. Letters other than G and M may stand once; G and M are kept in lists. The object is
 * reused from line to line. Syntax as in NIST IR 6556 (second hand), section "format of a line"; `;` starts a
 * comment to the end of the line (common practice).
 */
export class LineWords {
  /** Letters that stand on the line, bit 0 for A. */
  present = 0;
  readonly value = new Float64Array(26);
  /** Offsets in the text, for quoting. */
  readonly start = new Int32Array(26);
  readonly end = new Int32Array(26);
  readonly g = new CodeList();
  readonly m = new CodeList();
  block_delete = false;

  has(letter: number): boolean {
    return (this.present & (1 << letter)) !== 0;
  }

  /** Reads the current line of the source. @throws StandoffError for anything that is neither a word nor a comment. */
  read(source: Source): void {
    this.present = 0;
    this.g.count = 0;
    this.m.count = 0;
    this.block_delete = false;
    const { text, line_start, line_end } = source;
    if (line_end - line_start > LONGEST_LINE) {
      source.fail(
        'program-line-too-long',
        line_start,
        line_start + 20,
        `starts a line of ${line_end - line_start} characters, more than ${LONGEST_LINE}`,
        'split the line, or check that the file is an RS-274 program',
      );
    }
    let first = true;
    let index = line_start;
    while (index < line_end) {
      const unit = text.charCodeAt(index);
      if (unit === SPACE || unit === TAB) index++;
      else if (unit === SEMICOLON) return;
      else if (unit === OPEN) index = endOfComment(source, index);
      else if (unit === SLASH && first && !this.block_delete) {
        this.block_delete = true;
        index++;
      } else {
        index = this.readWord(source, index, first);
        first = false;
      }
    }
  }

  private readWord(source: Source, from: number, first: boolean): number {
    const letter = (source.text.charCodeAt(from) | 32) - LOWER_A;
    if (letter < 0 || letter > 25) refuseCharacter(source, from);
    const to = readNumber(source, from);
    if (letter === N) {
      checkLineNumber(source, from, to, first);
    } else if (letter === G) this.g.add(number_read, from, to);
    else if (letter === M) this.m.add(number_read, from, to);
    else {
      if (this.has(letter)) {
        const earlier = source.quote(this.start[letter], this.end[letter]);
        source.fail(
          'program-word-repeated',
          from,
          to,
          `stands on one line with "${earlier}"`,
          'keep one of the two, or put the second on a line of its own',
        );
      }
      this.present |= 1 << letter;
      this.value[letter] = number_read;
      this.start[letter] = from;
      this.end[letter] = to;
    }
    return to;
  }
}

/** The G or the M words of a line, in the order in which they stand. */
export class CodeList {
  count = 0;
  readonly value = new Float64Array(MOST_CODES);
  readonly start = new Int32Array(MOST_CODES);
  readonly end = new Int32Array(MOST_CODES);

  add(value: number, start: number, end: number): void {
    this.value[this.count] = value;
    this.start[this.count] = start;
    this.end[this.count] = end;
    this.count++;
  }
}

/** Index of a letter, 0 for A. */
export const letterIndex = (letter: string): number => letter.charCodeAt(0) - UPPER_A;

/** One bit for each letter, bit 0 for A. */
export const letterMask = (letters: string): number =>
  [...letters].reduce((bits, letter) => bits | (1 << letterIndex(letter)), 0);

/** The number of the word that `readNumber` read last; a return value of its own would be an object a word. */
let number_read = 0;

/** Reads the number after the letter at `from`, which may hold blanks. @returns the offset after it. */
function readNumber(source: Source, from: number): number {
  const { text, line_end } = source;
  let mantissa = 0;
  let digits = 0;
  let decimals = -1;
  let sign = 0;
  let end = from + 1;
  let index = from + 1;
  for (; index < line_end; index++) {
    const unit = text.charCodeAt(index);
    if (unit >= ZERO && unit <= NINE) {
      mantissa = mantissa * 10 + (unit - ZERO);
      digits++;
      if (decimals >= 0) decimals++;
    } else if (unit === POINT && decimals < 0) decimals = 0;
    else if ((unit === PLUS || unit === MINUS) && sign === 0 && digits === 0 && decimals < 0)
      sign = unit === MINUS ? -1 : 1;
    else if (unit === SPACE || unit === TAB) continue;
    else break;
    end = index + 1;
  }
  if (digits === 0) refuseMissingNumber(source, from, end);
  // Both parts of this quotient are exact up to 15 digits, so it is the double nearest to the decimal number.
  if (digits <= 15) number_read = decimals > 0 ? mantissa / POWERS_OF_TEN[decimals] : mantissa;
  else number_read = Math.abs(Number(text.slice(from + 1, end).replace(/[ \t]/g, '')));
  if (sign < 0) number_read = -number_read;
  return end;
}

function refuseMissingNumber(source: Source, from: number, end: number): never {
  if (source.quote(end, source.text.length) === '') throw truncated(source);
  if (/[#[]/.test(source.text[end])) refuseCharacter(source, end);
  source.fail('program-number-missing', from, end, 'has no number', 'write the number after the letter');
}

/** The error of a program that ends too early. */
export function truncated(source: Source): StandoffError {
  return new StandoffError(
    'program-truncated',
    `${source.file}: the program ends at line ${source.line} without M2, M30 or a closing %`,
    'export or copy it again, its end seems to be missing; if it is complete, add a last line with M30',
  );
}

function checkLineNumber(source: Source, from: number, to: number, first: boolean): void {
  const remedy = 'put N and a whole number without a sign at the start of the line, or leave it out';
  if (!first) source.fail('program-line-number', from, to, 'is a line number after another word', remedy);
  if (!/^[\d\s]+$/.test(source.text.slice(from + 1, to)))
    source.fail('program-line-number', from, to, 'is not a line number', remedy);
}

function endOfComment(source: Source, from: number): number {
  const { text, line_end } = source;
  for (let index = from + 1; index < line_end; index++) {
    const unit = text.charCodeAt(index);
    if (unit === CLOSE) return index + 1;
    if (unit === OPEN) {
      source.fail('program-comment', from, line_end, 'opens a second comment inside', 'close the first one before it');
    }
  }
  if (source.quote(line_end, text.length) === '') throw truncated(source);
  source.fail('program-comment', from, line_end, 'is not closed on its line', 'add ) at the end of the comment');
}

function refuseCharacter(source: Source, from: number): never {
  const sign = String.fromCodePoint(source.text.codePointAt(from) as number);
  const remedy =
    CHARACTER_REMEDIES[sign] ?? 'take it out; outside comments only letters, each with a number after it, are read';
  source.fail('program-character', from, from + sign.length, 'is not part of a word', remedy);
}

const EXPRESSION_REMEDY = 'export the program with plain numbers; parameters and expressions are not read';
const CHARACTER_REMEDIES: Readonly<Record<string, string>> = {
  '#': EXPRESSION_REMEDY,
  '[': EXPRESSION_REMEDY,
  '.': 'write one number after each letter, with one point at most',
  '-': 'write one number after each letter, with its sign in front',
  '+': 'write one number after each letter, with its sign in front',
  '/': 'put the block delete character first on its line',
  '%': 'put % on a line of its own, before the program and after it',
  ')': 'open the comment with (, or take the bracket out',
};

const LONGEST_LINE = 256;
/** No line can hold more words: each takes two characters at least. */
const MOST_CODES = LONGEST_LINE / 2;
const UPPER_A = 65;
const LOWER_A = 97;
const G = letterIndex('G');
const M = letterIndex('M');
const N = letterIndex('N');
const OPEN = 40;
const CLOSE = 41;
const PLUS = 43;
const MINUS = 45;
const POINT = 46;
const SLASH = 47;
const ZERO = 48;
const NINE = 57;
const SEMICOLON = 59;
const POWERS_OF_TEN = Float64Array.from({ length: 16 }, (_, power) => Number(`1e${power}`));

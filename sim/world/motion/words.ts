import { placeText, StandoffError } from '../../base/index.js';
import type { Source } from './source.js';
import { EXPRESSION_ROW, SUBPROGRAM_ROW } from './word-rows.js';

const TAB = 9;
const SPACE = 32;
/** Control bytes but the tab, and U+FFFD. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: these are what is looked for
const NO_TEXT = /[\u0000-\u0008\u000a-\u001f\u007f\ufffd]/;
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

  /** Reads the current line of the source. @throws LEAVE_LINE for anything that is neither a word nor a comment. */
  read(source: Source): void {
    this.present = 0;
    this.g.count = 0;
    this.m.count = 0;
    this.block_delete = false;
    const { text, line_start, line_end } = source;
    let first = true;
    let comments = 0;
    let index = line_start;
    while (index < line_end) {
      const unit = text.charCodeAt(index);
      if (unit === SPACE || unit === TAB) index++;
      else if (unit === SEMICOLON) {
        comments += line_end - index;
        break;
      } else if (unit === OPEN) {
        const end = endOfComment(source, index);
        comments += end - index;
        index = end;
      } else if (unit === SLASH && first && !this.block_delete) {
        this.block_delete = true;
        index = afterSlash(text, index);
      } else {
        if (index - line_start - comments > LONGEST_LINE) refuseLongLine(source);
        index = this.readWord(source, index, first);
        first = false;
      }
    }
    if (line_end - line_start - comments > LONGEST_LINE) refuseLongLine(source);
  }

  private readWord(source: Source, from: number, first: boolean): number {
    let letter = (source.text.charCodeAt(from) | 32) - LOWER_A;
    if (first && source.text.charCodeAt(from) === COLON) letter = O;
    if (letter < 0 || letter > 25) refuseCharacter(source, from);
    if (letter === O) refuseSubprogram(source, from);
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
          String(letter),
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
  if (source.quote(end, source.text.length) === '') refuseCutOff(source, from, source.line_end);
  refuseBinary(source, end);
  if (/[#[]/.test(source.text[end])) refuseCharacter(source, end);
  // The next word, or the rest of a word of letters, is what the reader of a message looks for.
  const letters = /^[A-Za-z]+/.exec(source.text.slice(from, source.line_end))?.[0] ?? '';
  const to = letters.length > 2 ? from + letters.length : end;
  source.fail(
    'program-number-missing',
    from,
    to,
    'has no number',
    'write the number after the letter, or a comment in ( )',
  );
}

/** A word or a comment that the end of the file cuts off. */
function refuseCutOff(source: Source, from: number, to: number): never {
  source.fail(
    'program-truncated',
    from,
    to,
    'is cut off: the program ends in the middle of a line',
    'have it written or copied again; its end is missing',
  );
}

function refuseLongLine(source: Source): never {
  const { line_start, line_end } = source;
  source.fail(
    'program-line-too-long',
    line_start,
    line_start + 20,
    `starts a line of ${line_end - line_start} characters, of which more than ${LONGEST_LINE} are no comment`,
    'split the line, or check that the file is an RS-274 program',
    '',
  );
}

/** A number after the block delete character says which switch it is for. */
function afterSlash(text: string, from: number): number {
  const unit = text.charCodeAt(from + 1);
  return unit >= ZERO && unit <= NINE ? from + 2 : from + 1;
}

/** Refuses an O word that is more than the number of a program. */
function refuseSubprogram(source: Source, from: number): void {
  const rest = source.text.slice(from, source.line_end);
  const found = SUBPROGRAM.exec(rest);
  if (found === null) return;
  const { says, remedy } = SUBPROGRAM_ROW;
  source.fail('program-word-unknown', from, from + found[0].length, says, remedy, 'O');
}

const SUBPROGRAM =
  /^O\s*(?:<[^>]*>?\s*\w*|\d*\s*(?:sub|endsub|call|return|if|elseif|else|endif|while|endwhile|do|repeat|endrepeat|break|continue)\b)/i;

function checkLineNumber(source: Source, from: number, to: number, first: boolean): void {
  const remedy = 'put N and a whole number without a sign at the start of the line, or leave it out';
  if (!first) source.fail('program-line-number', from, to, 'is a line number after another word', remedy, '');
  if (!/^[\d\s]+$/.test(source.text.slice(from + 1, to)))
    source.fail('program-line-number', from, to, 'is not a line number', remedy, '');
}

/** A bracket inside a comment is part of it where it is closed on the line; else the first ) ends the comment. */
function endOfComment(source: Source, from: number): number {
  const { text, line_end } = source;
  let depth = 0;
  let first_close = -1;
  for (let index = from; index < line_end; index++) {
    const unit = text.charCodeAt(index);
    if (unit === OPEN) depth++;
    if (unit !== CLOSE) continue;
    if (--depth === 0) return index + 1;
    if (first_close < 0) first_close = index;
  }
  if (first_close >= 0) return first_close + 1;
  if (source.quote(line_end, text.length) === '') refuseCutOff(source, from, line_end);
  source.fail('program-comment', from, line_end, 'is not closed on its line', 'add ) at the end of the comment', '');
}

function refuseCharacter(source: Source, from: number): never {
  refuseBinary(source, from);
  const sign = String.fromCodePoint(source.text.codePointAt(from) as number);
  if (sign === '#' || sign === '[')
    source.fail('program-character', from, from + 1, EXPRESSION_ROW.says, EXPRESSION_ROW.remedy, '#');
  const remedy =
    CHARACTER_REMEDIES[sign] ?? 'take it out; outside comments only letters, each with a number after it, are read';
  source.fail('program-character', from, from + sign.length, 'is not part of a word', remedy);
}

/**
 * Gives a file up that is not text: a control byte, or the character that a decoder puts in place of bytes that are not UTF-8,
 * outside a comment, in the rest of the line.
 * @throws StandoffError program-binary
 */
function refuseBinary({ text, file, line, line_start, line_end }: Source, from: number): void {
  const rest = /^[^(;]*/.exec(text.slice(from, line_end))![0];
  const at = from + rest.search(NO_TEXT);
  if (at < from) return;
  const unit = text.charCodeAt(at);
  const place = placeText({ file, line, column: at - line_start + 1 });
  const byte =
    unit !== REPLACEMENT ? `the control byte 0x${unit.toString(16).padStart(2, '0')}` : 'bytes that are not text';
  throw new StandoffError(
    'program-binary',
    `${place}: the program holds ${byte}`,
    'give the plain text of an RS-274 program, not a drawing, an archive or a damaged copy',
  );
}

const CHARACTER_REMEDIES: Readonly<Record<string, string>> = {
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
const O = letterIndex('O');
const OPEN = 40;
const CLOSE = 41;
const PLUS = 43;
const MINUS = 45;
const POINT = 46;
const SLASH = 47;
const ZERO = 48;
const NINE = 57;
const COLON = 58;
const SEMICOLON = 59;
const POWERS_OF_TEN = Float64Array.from({ length: 16 }, (_, power) => Number(`1e${power}`));

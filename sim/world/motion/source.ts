import type { StandoffErrorCode } from '../../base/index.js';
import { type Diagnosis, type DiagnosisLevel, DiagnosisList, type Key } from './diagnoses.js';

/** The text of a program and the line that is being read; turns an offset into the place of what is found. */
export class Source {
  readonly found = new DiagnosisList();
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

  /** Tells of a piece of the current line; the same kind of the same words is told once, with a count. */
  tell(level: DiagnosisLevel, code: Diagnosis['code'], from: number, to: number, said: Said): void {
    const { what, remedy } = said;
    if (typeof said.key === 'object' && this.found.again(said.key)) return;
    const quote = this.quote(from, to);
    const key = typeof said.key === 'object' ? said.key : `${level} ${code} ${said.key ?? quote}`;
    this.found.add(key, {
      level,
      code,
      line: this.line,
      column: from - this.line_start + 1,
      quote: quote.length > LONGEST_QUOTE ? `${quote.slice(0, LONGEST_QUOTE)}…` : quote,
      what,
      remedy,
    });
  }

  /** Notes an error of a piece of the current line, and leaves the line. @throws LEAVE_LINE always */
  fail(code: StandoffErrorCode, from: number, to: number, what: string, remedy: string, key?: Key): never {
    this.tell('error', code, from, to, { what, remedy, ...(key === undefined ? {} : { key }) });
    throw LEAVE_LINE;
  }
}

/** What is told of some words: the rest of a sentence, and what to do. */
export interface Said {
  readonly what: string;
  readonly remedy: string;
  /** What makes two of a kind, such as a row; without it the words themselves. */
  readonly key?: Key;
}

/** Thrown when the rest of a line is not read; the error itself is in the list. */
export const LEAVE_LINE = Symbol('leave this line');
const LONGEST_QUOTE = 40;

const LINE_FEED = 10;

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
 * Refuses what is no text: control bytes other than tab and line ends, or the sign that a decoder puts in
 * place of bytes that are no UTF-8.
 */
export function refuseBinary(text: string, file: string): void {
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
    const byte = control ? `the control byte 0x${unit.toString(16).padStart(2, '0')}` : 'bytes that are no text';
    throw new StandoffError(
      'program-binary',
      `${place}: the program holds ${byte}`,
      'give the plain text of an RS-274 program, not a drawing, an archive or a damaged copy',
    );
  }
}

const TAB = 9;
const LINE_FEED = 10;
const CARRIAGE_RETURN = 13;
const SPACE = 32;
const DELETE = 127;
const REPLACEMENT = 0xfffd;

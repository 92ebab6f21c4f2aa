import type { StandoffErrorCode } from '../../base/index.js';
import { LEAVE_LINE, type Said, type Source } from './source.js';
import { G_BY_KEY, Group, LETTER_ROWS, M_BY_KEY, OTHER_M_ROW, type WordRow } from './word-rows.js';
import { type CodeList, LineWords, letterIndex, letterMask } from './words.js';

/** The line that is being executed: its words, sorted, and what can be told of them. */
export class Line {
  readonly words = new LineWords();
  readonly codes = new LineCodes();
  /** Every word of the line was read, whatever became of it then. */
  complete = false;
  /** A motion that is not understood is in effect: its parameters are not told again on every line. */
  foreign_motion = false;

  constructor(readonly source: Source) {}

  /** @returns false for a line without words @throws LEAVE_LINE for a word that is refused */
  read(): boolean {
    const { source, words, codes } = this;
    this.complete = false;
    codes.code.fill(-1);
    words.read(source);
    this.complete = true;
    if (words.present === 0 && words.g.count === 0 && words.m.count === 0) return false;
    codes.sort(source, words);
    if (this.foreign_motion && this.code(Group.motion) < 0) codes.takes_parameters = true;
    sortLetters(source, words, codes);
    return true;
  }

  has(letter: number): boolean {
    return this.words.has(letter);
  }

  value(letter: number): number {
    return this.words.value[letter];
  }

  /** The code of a modal group in tenths, −1 without one. */
  code(group: number): number {
    return this.codes.code[group];
  }

  /** @param key what makes two errors of a kind; without it the letter */
  fail(code: StandoffErrorCode, letter: number, what: string, remedy: string, key = String(letter)): never {
    this.source.fail(code, this.words.start[letter], this.words.end[letter], what, remedy, key);
  }

  failCode(code: StandoffErrorCode, group: number, what: string, remedy: string): never {
    this.source.fail(code, this.codes.start[group], this.codes.end[group], what, remedy);
  }

  /** Tells of the word that moves: its motion code, or the first axis word. */
  warnMove(row: WordRow): void {
    if (this.code(Group.motion) >= 0) this.warnCode(Group.motion, row);
    else this.warn(this.firstAxis(), row);
  }

  warnCode(group: number, row: WordRow): void {
    this.tellDanger(this.codes.start[group], this.codes.end[group], row);
  }

  warn(letter: number, row: WordRow): void {
    this.tellDanger(this.words.start[letter], this.words.end[letter], row);
  }

  warnLine(row: WordRow): void {
    this.tellDanger(this.source.line_start, this.source.line_end, row);
  }

  private tellDanger(start: number, end: number, { word, says, remedy }: WordRow): void {
    this.source.tell('warning', 'program-danger', start, end, { what: says, remedy, key: word });
  }

  note(letter: number, said: Said): void {
    this.source.tell('note', 'program-note', this.words.start[letter], this.words.end[letter], said);
  }

  noteCode(group: number, said: Said): void {
    this.source.tell('note', 'program-note', this.codes.start[group], this.codes.end[group], said);
  }

  /** Of X, Y and Z the one that stands first; X when there is none. */
  firstAxis(): number {
    return this.first(AXES) ?? X;
  }

  /** The letter that stands first on the line. */
  first(letters: readonly number[]): number | undefined {
    const { words } = this;
    return letters
      .filter((letter) => words.has(letter))
      .reduce<number | undefined>(
        (best, letter) => (best === undefined || words.start[letter] < words.start[best] ? letter : best),
        undefined,
      );
  }
}

const X = letterIndex('X');
const AXES = [...'XYZ'].map(letterIndex);

const GROUP_COUNT = 16;

/** The code of each modal group on one line, in tenths (911 for G91.1), or −1; with the offsets of its word. */
class LineCodes {
  readonly code = new Int16Array(GROUP_COUNT);
  readonly start = new Int32Array(GROUP_COUNT);
  readonly end = new Int32Array(GROUP_COUNT);
  /** A word that is passed over takes the axis words of the line, or its parameters such as P and Q. */
  takes_axes = false;
  takes_parameters = false;

  /** Sorts the G and M words of a line. @throws LEAVE_LINE for an unknown code or two of one group. */
  sort(source: Source, words: LineWords): void {
    this.code.fill(-1);
    this.takes_axes = false;
    this.takes_parameters = false;
    const good = this.sortList(source, words, words.g, 'G');
    if (!this.sortList(source, words, words.m, 'M') || !good) throw LEAVE_LINE;
  }

  /** @returns false when a word was refused */
  private sortList(source: Source, words: LineWords, list: CodeList, letter: 'G' | 'M'): boolean {
    let good = true;
    for (let index = 0; index < list.count; index++) {
      const start = list.start[index];
      const end = list.end[index];
      const key = keyOf(list.value[index]);
      const row = rowOf(letter, key);
      if (row === undefined || row.class === 'refused') {
        refuse(source, start, end, row);
        good = false;
      } else if (row.class === 'passed') this.pass(source, start, end, row);
      // A refused motion code still is one: what follows it is not a fault of its own.
      if (row?.group !== undefined) this.place(source, row.group, key, start, end, words.present);
    }
    return good;
  }

  private pass(source: Source, start: number, end: number, row: WordRow): void {
    note(source, start, end, row);
    if (row.axes) this.takes_axes = true;
    if (row.parameters) this.takes_parameters = true;
  }

  private place(source: Source, group: number, key: number, start: number, end: number, present: number): void {
    const before = this.code[group];
    // G80 beside a motion code, as first lines have it, changes nothing where nothing moves.
    const ends = group === Group.motion && (key === ENDS_MOTION || before === ENDS_MOTION) && (present & PLACES) === 0;
    if (ends && key === ENDS_MOTION && before >= 0) return;
    if (before >= 0 && before !== key && !ends) {
      const earlier = source.quote(this.start[group], this.end[group]);
      source.fail(
        'program-words-contradict',
        start,
        end,
        `stands on one line with "${earlier}", a word of the same modal group`,
        'keep one of the two, or put the second on a line of its own',
      );
    }
    this.code[group] = key;
    this.start[group] = start;
    this.end[group] = end;
  }
}

const ENDS_MOTION = 800;
const PLACES = letterMask('XYZIJR');

/** The standard wants a code to lie within 0.0001 of its number. @returns tenths, −1 for a number of no code */
function keyOf(value: number): number {
  const key = Math.round(value * 10);
  return Math.abs(value * 10 - key) <= 0.001 ? key : -1;
}

function rowOf(letter: 'G' | 'M', key: number): WordRow | undefined {
  if (letter === 'G') return G_BY_KEY[key];
  return M_BY_KEY[key] ?? (key >= 0 && key % 10 === 0 ? OTHER_M_ROW : undefined);
}

function refuse(source: Source, start: number, end: number, row: WordRow | undefined): void {
  source.tell('error', 'program-word-unknown', start, end, {
    what: row?.says ?? 'is not known here',
    remedy: row?.remedy ?? GENERAL_REMEDY,
    ...(row && { key: row }),
  });
}

function note(source: Source, start: number, end: number, row: WordRow): void {
  const { word, says, remedy } = row;
  source.tell('note', 'program-note', start, end, {
    what: says,
    remedy,
    ...(word !== OTHER_M_ROW.word && { key: row }),
  });
}

const LETTERS: readonly (WordRow | undefined)[] = Array.from({ length: 26 }, (_, letter) =>
  LETTER_ROWS.find(({ word }) => letterIndex(word) === letter),
);
/** Letters that a word beside them takes, whatever their row says. */
const PARAMETERS = letterMask('DEHKLPQR');
const ALWAYS_READ = letterMask('FIJNPRXY');
const L = letterIndex('L');

/** Notes the letters that are passed over. @throws LEAVE_LINE for one that means something else than is read here. */
function sortLetters(source: Source, words: LineWords, codes: LineCodes): void {
  let unusual = words.present & ~ALWAYS_READ;
  if (codes.takes_parameters) unusual &= ~PARAMETERS;
  if (codes.code[Group.nonModal] === 100) unusual &= ~(1 << L);
  let good = true;
  for (let letter = 0; unusual !== 0; letter++, unusual >>>= 1) {
    const row = LETTERS[letter];
    if ((unusual & 1) === 0 || row === undefined) continue;
    const start = words.start[letter];
    const end = words.end[letter];
    // A place of 0 of an axis that is not there changes nothing.
    if (row.class === 'passed') note(source, start, end, row);
    else if (words.value[letter] === 0 && ZERO_PASSES.includes(row.word)) note(source, start, end, ZERO_ROW);
    else {
      refuse(source, start, end, row);
      good = false;
    }
  }
  if (!good) throw LEAVE_LINE;
}

const ZERO_PASSES = [...'ABCUVWK'];
const ZERO_ROW: WordRow = {
  word: 'A0',
  class: 'passed',
  says: 'is an axis that the table has not; a 0 moves nothing',
  remedy: '',
};

const GENERAL_REMEDY =
  'take it out, or have the file written without it; hardware-notes/program-words.gen.md lists what is read';

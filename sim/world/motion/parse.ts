import { MM_PER_INCH, StandoffError, type StandoffErrorCode } from '../../base/index.js';
import { Group, LineCodes, refuseUnknownLetters } from './codes.js';
import { centreOfRadius, samePoint } from './geometry.js';
import { BlockKind, type Count, type Program, ProgramBuilder } from './program.js';
import { LineWords, letterIndex, letterMask, refuseBinary, Source, truncated } from './words.js';

/**
 * Reads an RS-274 program: NIST IR 6556 (second hand) for lines, numbers, modal groups, arcs, the dwell and
 * the order in which the words of one line take effect. M3 requests the torch; M5, M2, M30 and the closing %
 * withdraw the request.
 *
 * Where this reader accepts more than the standard: a motion code may stand without axis words and only sets the
 * mode; a full circle may leave out X and Y; line numbers may have more than five digits; `;` starts a
 * comment. What the standard leaves open: a units word counts for every number on its line, F included; a change of units
 * leaves the feed as it is; block delete is off. At the start G90, G17, G94 and G21 are in effect, no motion
 * code is, and the torch stands at the origin of G54.
 *
 * @param text the whole program; @param file its name for messages.
 * @throws StandoffError `program-…` with file, line, column and the offending text.
 */
export function parseProgram(text: string, file: string): Program {
  const lines = refuseBinary(text, file);
  return new ProgramReader(text.startsWith('\ufeff') ? text.slice(1) : text, file, lines).read();
}

class ProgramReader {
  private readonly source: Source;
  private readonly words = new LineWords();
  private readonly codes = new LineCodes();
  private readonly blocks: ProgramBuilder;

  private motion_code = NO_CODE;
  private incremental = false;
  private scale_mm = 1;
  private feed_mm_s = 0;
  private x_mm = 0;
  private y_mm = 0;
  private ended = false;
  private blank = true;

  private units_known = false;
  private units_stated = true;
  private readonly z_words = new Tally();
  private readonly s_words = new Tally();
  private readonly block_delete_lines = new Tally();
  private readonly lines_after_end = new Tally();

  constructor(text: string, file: string, lines: number) {
    this.source = new Source(text, file);
    this.blocks = new ProgramBuilder(lines);
  }

  read(): Program {
    const { source, words } = this;
    while (source.nextLine()) {
      if (this.ended) this.noteAfterEnd();
      else if (this.percentLine()) {
        // The first % opens the program; one after a block closes it.
        if (!this.blank) this.end();
      } else {
        words.read(source);
        if (words.present !== 0 || words.g.count > 0 || words.m.count > 0) this.execute();
      }
    }
    if (this.blank) {
      const what = `${source.file}: the program is empty`;
      throw new StandoffError('program-empty', what, 'give the RS-274 program of the cut; it ends with M30');
    }
    if (!this.ended) throw truncated(source);
    const { z_words, s_words, block_delete_lines, lines_after_end, units_stated } = this;
    const notes = { z_words, s_words, block_delete_lines, lines_after_end, units_stated };
    return this.blocks.finish(source.file, source.line, notes);
  }

  private percentLine(): boolean {
    const { text, line_start, line_end } = this.source;
    let index = line_start;
    while (index < line_end && text.charCodeAt(index) <= SPACE) index++;
    return text.charCodeAt(index) === PERCENT && index < line_end && this.source.quote(index, line_end) === '%';
  }

  private noteAfterEnd(): void {
    const rest = this.source.quote(this.source.line_start, this.source.line_end);
    if (rest !== '' && rest !== '%' && !rest.startsWith('(') && !rest.startsWith(';'))
      this.lines_after_end.add(this.source.line);
  }

  /** Executes one line in the order of the standard. */
  private execute(): void {
    const { source, words, codes } = this;
    this.blank = false;
    refuseUnknownLetters(source, words);
    codes.sort(source, words);
    if (words.block_delete) this.block_delete_lines.add(source.line);
    this.setUnits();
    if (words.has(F)) this.setFeed();
    if (words.has(S)) this.s_words.add(source.line);
    if (words.has(Z)) this.z_words.add(source.line);
    if (codes.code[Group.torch] >= 0)
      this.addBlock(codes.code[Group.torch] === 3 ? BlockKind.torchOn : BlockKind.torchOff);
    this.dwell();
    if (codes.code[Group.distance] >= 0) this.incremental = codes.code[Group.distance] === 91;
    this.move();
    if (codes.code[Group.stopping] >= 0) this.end();
  }

  private addBlock(kind: BlockKind, dwell_s = 0): void {
    this.blocks.add(kind, this.source.line, this.x_mm, this.y_mm, 0, dwell_s);
  }

  private end(): void {
    this.addBlock(BlockKind.end);
    this.ended = true;
  }

  private setUnits(): void {
    const code = this.codes.code[Group.units];
    if (code >= 0) {
      this.scale_mm = code === 20 ? MM_PER_INCH : 1;
      this.units_known = true;
    } else if (!this.units_known && (this.words.present & LENGTH_MASK) !== 0) {
      this.units_known = true;
      this.units_stated = false;
    }
  }

  private setFeed(): void {
    const feed_mm_s = (this.words.value[F] * this.scale_mm) / 60;
    if (feed_mm_s < 0 || feed_mm_s > GREATEST_FEED_MM_S)
      this.fail('program-feed', F, 'is not a feed', 'give a feed of 0 to 1 000 000 mm/min');
    this.feed_mm_s = feed_mm_s;
  }

  private dwell(): void {
    const { codes, words } = this;
    if (codes.code[Group.nonModal] !== 4) {
      if (words.has(P))
        this.fail('program-word-without-use', P, 'has no G4 on its line', 'add G4, or take the P word out');
      return;
    }
    if (!words.has(P)) this.failCode('program-dwell', Group.nonModal, 'has no P word', 'add P and the time in seconds');
    if (words.value[P] < 0 || words.value[P] > LONGEST_DWELL_S)
      this.fail('program-dwell', P, 'is not a dwell time', 'give 0 to 3600; P is in seconds');
    this.addBlock(BlockKind.dwell, words.value[P]);
  }

  private move(): void {
    const { codes, words } = this;
    const stated = codes.code[Group.motion];
    if (stated >= 0) this.motion_code = stated;
    const axis_words = words.present & AXIS_MASK;
    const arc_words = words.present & ARC_MASK;
    const arc = this.motion_code === 2 || this.motion_code === 3;
    if (arc_words !== 0 && !(arc && (axis_words !== 0 || stated >= 0))) {
      const letter = words.has(I) ? I : words.has(J) ? J : R;
      this.fail('program-word-without-use', letter, 'has no arc on its line', 'add G2 or G3, or take the word out');
    }
    if (axis_words === 0 && !(arc && stated >= 0)) return;
    if (this.motion_code === NO_CODE || this.motion_code === 80) {
      const why = this.motion_code === 80 ? 'follows G80, which ends all motion' : 'has no motion code before it';
      this.fail('program-motion-missing', this.firstAxis(), why, 'put G0, G1, G2 or G3 before it');
    }
    if (this.motion_code !== 0 && this.feed_mm_s === 0) {
      const remedy = 'add an F word above 0 on this line or before it';
      if (stated >= 0) this.failCode('program-feed-missing', Group.motion, 'has no feed', remedy);
      this.fail('program-feed-missing', this.firstAxis(), `moves by G${this.motion_code} without a feed`, remedy);
    }
    const x_mm = this.target(X, this.x_mm);
    const y_mm = this.target(Y, this.y_mm);
    if (arc) this.arc(x_mm, y_mm);
    else if (words.has(X) || words.has(Y)) {
      if (this.motion_code === 1) this.blocks.add(BlockKind.line, this.source.line, x_mm, y_mm, this.feed_mm_s, 0);
      else this.blocks.add(BlockKind.rapid, this.source.line, x_mm, y_mm, 0, 0);
    }
    this.x_mm = x_mm;
    this.y_mm = y_mm;
  }

  private arc(x_mm: number, y_mm: number): void {
    const { words } = this;
    const clockwise = this.motion_code === 2;
    const has_offset = words.has(I) || words.has(J);
    if (words.has(R) && has_offset)
      this.fail('program-words-contradict', R, 'stands with I or J', 'give the radius or the centre, not both');
    if (!words.has(R) && !has_offset) {
      const remedy = 'add I and J, from the start to the centre, or R';
      if (this.codes.code[Group.motion] >= 0)
        this.failCode('program-arc-centre', Group.motion, 'has neither I, J nor R', remedy);
      this.fail('program-arc-centre', this.firstAxis(), `is an arc by G${this.motion_code} without I, J or R`, remedy);
    }
    const tolerance_mm = this.scale_mm === 1 ? RADII_TOLERANCE_MM : RADII_TOLERANCE_IN * MM_PER_INCH;
    let centre = { x_mm: this.x_mm + this.length(I), y_mm: this.y_mm + this.length(J) };
    if (words.has(R)) {
      const end = { x_mm, y_mm };
      const found = centreOfRadius({ x_mm: this.x_mm, y_mm: this.y_mm }, end, this.length(R), clockwise, tolerance_mm);
      if (samePoint(this.x_mm, this.y_mm, x_mm, y_mm))
        this.fail('program-arc-radius', R, 'is given for an arc that ends where it starts', 'use I and J for a circle');
      if (found === undefined || words.value[R] === 0)
        this.fail(
          'program-arc-radius',
          R,
          'is too small to reach the end of the arc',
          'check R, X, Y and the start point',
        );
      centre = found;
    } else this.checkRadii(centre, x_mm, y_mm, tolerance_mm);
    const kind = clockwise ? BlockKind.arcClockwise : BlockKind.arcCounterClockwise;
    this.blocks.add(kind, this.source.line, x_mm, y_mm, this.feed_mm_s, 0);
    this.blocks.centre(centre.x_mm, centre.y_mm);
  }

  private checkRadii(centre: { x_mm: number; y_mm: number }, x_mm: number, y_mm: number, tolerance_mm: number): void {
    const start_mm = distance(this.x_mm - centre.x_mm, this.y_mm - centre.y_mm);
    const end_mm = distance(x_mm - centre.x_mm, y_mm - centre.y_mm);
    const letter = this.words.has(I) ? I : J;
    const remedy = 'check the end and I and J, which count from the start of the arc; more decimals may help';
    if (Math.min(start_mm, end_mm) <= tolerance_mm)
      this.fail('program-arc-radius', letter, 'puts the centre of the arc on its start or end', remedy);
    if (Math.abs(start_mm - end_mm) > tolerance_mm) {
      const radii = `${start_mm.toFixed(4)} mm at the start and ${end_mm.toFixed(4)} mm at the end`;
      this.fail('program-arc-radii', letter, `gives the arc a radius of ${radii}`, remedy);
    }
  }

  /** A length word in mm, 0 when it is missing; refuses what no table can reach. */
  private length(letter: number): number {
    if (!this.words.has(letter)) return 0;
    const value_mm = this.words.value[letter] * this.scale_mm;
    if (Math.abs(value_mm) > GREATEST_LENGTH_MM) this.failRange(letter);
    return value_mm;
  }

  private target(letter: number, from_mm: number): number {
    if (!this.words.has(letter)) return from_mm;
    const value_mm = this.length(letter) + (this.incremental ? from_mm : 0);
    if (Math.abs(value_mm) > GREATEST_LENGTH_MM) this.failRange(letter);
    return value_mm;
  }

  private failRange(letter: number): never {
    this.fail('program-range', letter, 'lies more than 100 m away', 'check the number and the units, G20 or G21');
  }

  private firstAxis(): number {
    const { words } = this;
    let first = X;
    for (const letter of [X, Y, Z]) {
      if (words.has(letter) && (!words.has(first) || words.start[letter] < words.start[first])) first = letter;
    }
    return first;
  }

  private fail(code: StandoffErrorCode, letter: number, what: string, remedy: string): never {
    this.source.fail(code, this.words.start[letter], this.words.end[letter], what, remedy);
  }

  private failCode(code: StandoffErrorCode, group: number, what: string, remedy: string): never {
    this.source.fail(code, this.codes.start[group], this.codes.end[group], what, remedy);
  }
}

class Tally implements Count {
  count = 0;
  first_line = 0;

  add(line: number): void {
    if (this.count++ === 0) this.first_line = line;
  }
}

const distance = (x: number, y: number) => Math.sqrt(x * x + y * y);
const [F, I, J, P, R, S, X, Y, Z] = [...'FIJPRSXYZ'].map(letterIndex);
const AXIS_MASK = letterMask('XYZ');
const ARC_MASK = letterMask('IJR');
const LENGTH_MASK = letterMask('FIJRXYZ');
const NO_CODE = -1;
const SPACE = 32;
const PERCENT = 37;
/** NIST IR 6556 (second hand): the two radii of an arc in centre format may differ by this much. */
const RADII_TOLERANCE_MM = 0.002;
const RADII_TOLERANCE_IN = 0.0002;
/** Limits against misprints, far beyond any table; they keep later arithmetic exact. */
const GREATEST_LENGTH_MM = 100_000;
const GREATEST_FEED_MM_S = 1_000_000 / 60;
const LONGEST_DWELL_S = 3600;

// What moves, and where to; apart from parse.ts, which has the order of a line and all that does not move.
import { MM_PER_INCH } from '../../base/index.js';
import type { TorchWatch } from './dangers.js';
import { centreOfRadius, samePoint } from './geometry.js';
import type { Line } from './line.js';
import type { Coordinates } from './origins.js';
import { BlockKind, type ProgramBuilder } from './program.js';
import { G_BY_KEY, Group } from './word-rows.js';
import { letterIndex, letterMask } from './words.js';

/** What the words of a line move, and the modes that say how. Codes are in tenths, as in `LineCodes`. */
export class Moves {
  motion_code = NO_CODE;
  incremental = false;
  /** I and J are places, not distances from the start of the arc. */
  absolute_centres = false;
  scale_mm = 1;
  feed_mm_s = 0;
  /** Where the torch stands, from the lower left corner of the sheet. */
  x_mm: number;
  y_mm: number;
  /** False after a line that was not understood: what follows from it is no error of its own. */
  place_known = true;
  feed_known = true;
  motion_known = true;

  constructor(
    private readonly line: Line,
    private readonly blocks: ProgramBuilder,
    private readonly coordinates: Coordinates,
    private readonly torch: TorchWatch,
  ) {
    this.x_mm = coordinates.origin_x_mm;
    this.y_mm = coordinates.origin_y_mm;
  }

  /** The motion of the line, if it has one. */
  move(): void {
    const { line } = this;
    const stated = line.code(Group.motion);
    if (stated >= 0) {
      this.motion_code = stated;
      this.motion_known = true;
      line.foreign_motion = false;
    }
    const axis_words = line.words.present & AXIS_MASK;
    const arc_words = line.words.present & ARC_MASK;
    const arc = this.motion_code === 20 || this.motion_code === 30;
    if (arc_words !== 0 && !line.codes.takes_parameters && !(arc && (axis_words !== 0 || stated >= 0))) {
      if (!this.motion_known) return;
      const letter = line.first(ARC_LETTERS) as number;
      line.fail('program-word-without-use', letter, 'has no arc on its line', 'add G2 or G3, or take the word out');
    }
    if (axis_words === 0 && !(arc && stated >= 0)) return;
    if (!this.canMove(stated)) return;
    const from_x_mm = this.x_mm;
    const from_y_mm = this.y_mm;
    const x_mm = this.target(X, from_x_mm);
    const y_mm = this.target(Y, from_y_mm);
    if (arc) this.arc(x_mm, y_mm);
    else if (line.has(X) || line.has(Y)) this.straight(x_mm, y_mm);
    if (arc || !samePoint(from_x_mm, from_y_mm, x_mm, y_mm)) this.torch.moved(this.motion_code === 0);
    this.goTo(x_mm, y_mm);
  }

  /** A line that was not understood: what is certain of it, so that later lines are read as they were meant. */
  follow(): void {
    const { line } = this;
    this.motion_known = line.complete;
    this.feed_known = line.complete && (this.feed_known || line.has(F));
    this.place_known = false;
    if (!line.complete) return;
    if (line.code(Group.motion) >= 0) this.motion_code = line.code(Group.motion);
    line.foreign_motion = G_BY_KEY[this.motion_code]?.class === 'refused';
    if (line.has(F) && line.value(F) > 0) this.feed_mm_s = (line.value(F) * this.scale_mm) / 60;
    if (!this.incremental && !line.codes.takes_axes) this.passOver();
  }

  /** The rest of a spline or a cycle, of which no path is known: the place where it ends is. */
  private passOver(): void {
    const { line, coordinates } = this;
    if (line.has(X)) this.x_mm = line.value(X) * this.scale_mm + coordinates.origin_x_mm;
    if (line.has(Y)) this.y_mm = line.value(Y) * this.scale_mm + coordinates.origin_y_mm;
    this.place_known = line.has(X) && line.has(Y);
  }

  private canMove(stated: number): boolean {
    const { line } = this;
    const row = G_BY_KEY[this.motion_code];
    if (row?.class === 'refused' || !this.motion_known) {
      this.passOver();
      return false;
    }
    if (this.motion_code === NO_CODE || this.motion_code === 800 || row?.class === 'passed') {
      const why =
        this.motion_code === 800
          ? 'follows G80, which ends all motion'
          : row
            ? `follows ${row.word}, which is no motion of X and Y`
            : 'has no motion code before it';
      if (row && !line.has(X) && !line.has(Y)) return false;
      line.fail('program-motion-missing', line.firstAxis(), why, 'put G0, G1, G2 or G3 before it', 'motion');
    }
    if (this.motion_code !== 0 && this.feed_mm_s === 0 && this.feed_known) {
      const remedy = 'add an F word above 0 on this line or before it';
      // Told once: from then on the feed is taken to be known.
      this.feed_known = false;
      if (stated >= 0) line.failCode('program-feed-missing', Group.motion, 'has no feed', remedy);
      const what = `moves by G${this.motion_code / 10} without a feed`;
      line.fail('program-feed-missing', line.firstAxis(), what, remedy, 'feed');
    }
    return true;
  }

  private straight(x_mm: number, y_mm: number): void {
    const { blocks, line } = this;
    const rapid = this.motion_code === 0;
    blocks.add(rapid ? BlockKind.rapid : BlockKind.line, line.source.line, x_mm, y_mm, rapid ? 0 : this.feed_mm_s, 0);
  }

  /** A rapid move to a place of the sheet. */
  rapidTo(x_mm: number, y_mm: number): void {
    if (samePoint(this.x_mm, this.y_mm, x_mm, y_mm)) return;
    this.blocks.add(BlockKind.rapid, this.line.source.line, x_mm, y_mm, 0, 0);
    this.torch.moved(true);
    this.goTo(x_mm, y_mm);
  }

  private goTo(x_mm: number, y_mm: number): void {
    const { line } = this;
    this.x_mm = x_mm;
    this.y_mm = y_mm;
    if (!this.incremental && line.has(X) && line.has(Y)) this.place_known = true;
  }

  private arc(x_mm: number, y_mm: number): void {
    const { line } = this;
    const clockwise = this.motion_code === 20;
    const has_offset = line.has(I) || line.has(J);
    if (line.has(R) && has_offset)
      line.fail('program-words-contradict', R, 'stands with I or J', 'give the radius or the centre, not both');
    if (!line.has(R) && !has_offset) this.failCentre();
    const tolerance_mm = this.scale_mm === 1 ? RADII_TOLERANCE_MM : RADII_TOLERANCE_IN * MM_PER_INCH;
    const centre = line.has(R)
      ? this.centreByRadius(x_mm, y_mm, clockwise, tolerance_mm)
      : this.centreByOffset(x_mm, y_mm, tolerance_mm);
    const kind = clockwise ? BlockKind.arcClockwise : BlockKind.arcCounterClockwise;
    this.blocks.add(kind, line.source.line, x_mm, y_mm, this.feed_mm_s, 0);
    this.blocks.centre(centre.x_mm, centre.y_mm);
  }

  private failCentre(): never {
    const { line } = this;
    const remedy = 'add I and J, from the start to the centre, or R';
    if (line.code(Group.motion) >= 0)
      line.failCode('program-arc-centre', Group.motion, 'has neither I, J nor R', remedy);
    const what = `is an arc by G${this.motion_code / 10} without I, J or R`;
    return line.fail('program-arc-centre', line.firstAxis(), what, remedy, 'centre');
  }

  private centreByRadius(x_mm: number, y_mm: number, clockwise: boolean, tolerance_mm: number) {
    const { line } = this;
    const start = { x_mm: this.x_mm, y_mm: this.y_mm };
    const found = centreOfRadius(start, { x_mm, y_mm }, this.length(R), clockwise, tolerance_mm);
    if (!this.place_known) return found ?? start;
    if (samePoint(this.x_mm, this.y_mm, x_mm, y_mm))
      line.fail('program-arc-radius', R, 'is given for an arc that ends where it starts', 'use I and J for a circle');
    if (found !== undefined && line.value(R) !== 0) return found;
    return line.fail(
      'program-arc-radius',
      R,
      'is too small to reach the end of the arc',
      'check R, X, Y and the start point',
      'reach',
    );
  }

  private centreByOffset(x_mm: number, y_mm: number, tolerance_mm: number) {
    const { coordinates } = this;
    const centre = this.absolute_centres
      ? { x_mm: this.length(I) + coordinates.origin_x_mm, y_mm: this.length(J) + coordinates.origin_y_mm }
      : { x_mm: this.x_mm + this.length(I), y_mm: this.y_mm + this.length(J) };
    if (this.place_known) this.checkRadii(centre, x_mm, y_mm, tolerance_mm);
    return centre;
  }

  private checkRadii(centre: { x_mm: number; y_mm: number }, x_mm: number, y_mm: number, tolerance_mm: number): void {
    const { line } = this;
    const start_mm = distance(this.x_mm - centre.x_mm, this.y_mm - centre.y_mm);
    const end_mm = distance(x_mm - centre.x_mm, y_mm - centre.y_mm);
    const letter = line.has(I) ? I : J;
    const remedy = this.absolute_centres
      ? 'check the end and I and J, which are places here, by G90.1; write G91.1 if they count from the start'
      : 'check the end and I and J, which count from the start of the arc; more decimals may help';
    if (Math.min(start_mm, end_mm) <= tolerance_mm)
      line.fail('program-arc-radius', letter, 'puts the centre of the arc on its start or end', remedy, 'on the path');
    const off_mm = Math.abs(start_mm - end_mm);
    if (off_mm <= tolerance_mm) return;
    const radii = `${start_mm.toFixed(4)} mm at the start and ${end_mm.toFixed(4)} mm at the end`;
    if (off_mm > ROUNDED_RADII_MM)
      line.fail('program-arc-radii', letter, `gives the arc a radius of ${radii}`, remedy, 'radii');
    const what = `gives the arc a radius of ${radii}, as rounded numbers do; the path is bent to meet its end`;
    line.note(letter, { what, remedy: '', key: 'radii' });
  }

  /** A length word in mm, 0 when it is missing; refuses what no table can reach. */
  length(letter: number): number {
    if (!this.line.has(letter)) return 0;
    const value_mm = this.line.value(letter) * this.scale_mm;
    if (Math.abs(value_mm) > GREATEST_LENGTH_MM) this.failRange(letter);
    return value_mm;
  }

  /** Where a word leads, from the lower left corner of the sheet. */
  target(letter: number, from_mm: number): number {
    const { line, coordinates } = this;
    if (!line.has(letter)) return from_mm;
    const across = letter === X;
    let origin_mm = across ? coordinates.origin_x_mm : coordinates.origin_y_mm;
    if (line.code(Group.nonModal) === 530) origin_mm = coordinates.at('G53', across ? 'x' : 'y');
    else if (this.incremental) origin_mm = from_mm;
    const value_mm = this.length(letter) + origin_mm;
    if (Math.abs(value_mm) > GREATEST_LENGTH_MM) this.failRange(letter);
    return value_mm;
  }

  private failRange(letter: number): never {
    this.line.fail('program-range', letter, 'lies more than 100 m away', 'check the number and the units, G20 or G21');
  }
}

const distance = (x: number, y: number) => Math.sqrt(x * x + y * y);
const [F, I, J, R, X, Y] = [...'FIJRXY'].map(letterIndex);
const AXIS_MASK = letterMask('XYZ');
const ARC_MASK = letterMask('IJR');
const ARC_LETTERS = [I, J, R];
const NO_CODE = -1;
/** NIST IR 6556 (second hand): the two radii of an arc in centre format may differ by this much. */
const RADII_TOLERANCE_MM = 0.002;
const RADII_TOLERANCE_IN = 0.0002;
/** Numbers of two decimals can make them differ by this much, and a kerf is thirty times as wide; told with a note. */
const ROUNDED_RADII_MM = 0.03;
/** Limits against misprints, far beyond any table; they keep later arithmetic exact. */
const GREATEST_LENGTH_MM = 100_000;

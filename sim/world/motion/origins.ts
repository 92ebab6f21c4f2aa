import { ORIGIN_NAMES, type Origins, type OriginWord, SYSTEM_WORDS } from '../../base/index.js';

/** The coordinate systems while a program is read. All places are in mm from the lower left corner of the sheet. */
export class Coordinates {
  /** What a word of 0 means in the chosen system. */
  origin_x_mm = 0;
  origin_y_mm = 0;
  /** 0 for G54. */
  system = 0;

  private readonly systems_x_mm: number[];
  private readonly systems_y_mm: number[];
  private shift_x_mm = 0;
  private shift_y_mm = 0;
  private kept_x_mm = 0;
  private kept_y_mm = 0;

  constructor(private readonly origins: Origins) {
    this.systems_x_mm = SYSTEM_WORDS.map((word) => this.at(word, 'x'));
    this.systems_y_mm = SYSTEM_WORDS.map((word) => this.at(word, 'y'));
    this.follow();
  }

  at(word: OriginWord, axis: 'x' | 'y'): number {
    return this.origins[ORIGIN_NAMES[word][axis]] ?? 0;
  }

  choose(system: number): void {
    this.system = system;
    this.follow();
  }

  /** Whether the chosen system lies at the corner of the sheet, as all do of which nothing is known. */
  atCorner(): boolean {
    return this.origin_x_mm === 0 && this.origin_y_mm === 0;
  }

  /** G10 L2: the origin of a system, from machine zero; `undefined` leaves an axis. */
  setOrigin(system: number, x_mm: number | undefined, y_mm: number | undefined): void {
    if (x_mm !== undefined) this.systems_x_mm[system] = this.at('G53', 'x') + x_mm;
    if (y_mm !== undefined) this.systems_y_mm[system] = this.at('G53', 'y') + y_mm;
    this.follow();
  }

  /** G10 L20: the origin of a system is put so that the torch stands at these coordinates. */
  setHere(system: number, at_x_mm: number, at_y_mm: number, x_mm: number | undefined, y_mm: number | undefined): void {
    if (x_mm !== undefined) this.systems_x_mm[system] = at_x_mm - this.shift_x_mm - x_mm;
    if (y_mm !== undefined) this.systems_y_mm[system] = at_y_mm - this.shift_y_mm - y_mm;
    this.follow();
  }

  /** G92: all systems are shifted so that the torch stands at these coordinates. */
  shiftHere(at_x_mm: number, at_y_mm: number, x_mm: number | undefined, y_mm: number | undefined): void {
    if (x_mm !== undefined) this.shift_x_mm = at_x_mm - this.systems_x_mm[this.system] - x_mm;
    if (y_mm !== undefined) this.shift_y_mm = at_y_mm - this.systems_y_mm[this.system] - y_mm;
    this.kept_x_mm = this.shift_x_mm;
    this.kept_y_mm = this.shift_y_mm;
    this.follow();
  }

  /** G92.1 takes the shift away, G92.2 sets it aside. */
  endShift(forget: boolean): void {
    this.shift_x_mm = 0;
    this.shift_y_mm = 0;
    if (forget) {
      this.kept_x_mm = 0;
      this.kept_y_mm = 0;
    }
    this.follow();
  }

  /** G92.3 brings back what G92.2 set aside. */
  restoreShift(): void {
    this.shift_x_mm = this.kept_x_mm;
    this.shift_y_mm = this.kept_y_mm;
    this.follow();
  }

  private follow(): void {
    this.origin_x_mm = this.systems_x_mm[this.system] + this.shift_x_mm;
    this.origin_y_mm = this.systems_y_mm[this.system] + this.shift_y_mm;
  }
}

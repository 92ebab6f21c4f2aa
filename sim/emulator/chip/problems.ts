/** Something that real silicon would not forgive, or that the emulator does not model. */
export interface Problem {
  readonly at_ns: number;
  readonly place: string;
  readonly what: string;
}

const MOST = 50;

/** What went wrong in the emulated board: the first ones in words, all of them counted. */
export class Problems {
  readonly list: Problem[] = [];
  count = 0;
  /** Time of the board. */
  now_ns: () => number = () => 0;

  note(place: string, what: string): void {
    this.count++;
    if (this.list.length < MOST) this.list.push({ at_ns: this.now_ns(), place, what });
  }

  /** What the emulator package logs through. A runaway program logs millions of lines: most are only counted. */
  readonly logger = {
    debug: (): void => {},
    info: (): void => {},
    warn: (place: string, what: string): void => this.note(place, what),
    error: (place: string, what: string): void => this.note(place, what),
  };

  /** One line a problem; empty when there was none. */
  text(): string {
    const lines = this.list.map(({ at_ns, place, what }) => `${(at_ns / 1e6).toFixed(3)} ms ${place}: ${what}`);
    if (this.count > lines.length) lines.push(`and ${this.count - lines.length} more`);
    return lines.join('\n');
  }
}

/** The lesser of two numbers, where NaN stands for `nothing yet`. */
export function lesser(a: number, b: number): number {
  return a < b || Number.isNaN(b) ? a : b;
}

/** The greater of two numbers, where NaN stands for `nothing yet`. */
export function greater(a: number, b: number): number {
  return a > b || Number.isNaN(b) ? a : b;
}

/**
 * Columns of bins of which the newest are kept: bounded, because an old bin is overwritten. A bin is addressed by its
 * number from the start of the run.
 */
class Ring<Name extends string> {
  /** Number of the newest bin; -1 while there is none. */
  newest = -1;
  /** Number of the oldest bin that is still there. */
  oldest = 0;
  protected readonly columns: Readonly<Record<Name, Float32Array>>;
  private readonly names: readonly Name[];

  /** @param empty what each column holds where nothing was recorded. */
  constructor(
    protected readonly bins: number,
    private readonly empty: Readonly<Record<Name, number>>,
  ) {
    this.names = Object.keys(empty) as Name[];
    const columns = this.names.map((name) => [name, new Float32Array(bins)] as const);
    this.columns = Object.fromEntries(columns) as Record<Name, Float32Array>;
  }

  has(bin: number): boolean {
    return bin >= this.oldest && bin <= this.newest;
  }

  /** What a column holds in a bin that the ring has. */
  at(name: Name, bin: number): number {
    return this.columns[name][bin % this.bins];
  }

  /** Begins a bin. Bins that were stepped over are empty, not remnants of earlier ones. */
  protected open(bin: number): void {
    const { bins, newest, oldest } = this;
    this.oldest = newest < 0 || bin - newest >= bins ? bin : Math.max(oldest, bin - bins + 1);
    for (let fresh = Math.max(newest + 1, this.oldest); fresh <= bin; fresh++) this.clear(fresh % bins);
    this.newest = bin;
  }

  protected clear(at: number): void {
    for (const name of this.names) this.columns[name][at] = this.empty[name];
  }

  protected take(other: Ring<Name>): this {
    this.newest = other.newest;
    this.oldest = other.oldest;
    for (const name of this.names) this.columns[name].set(other.columns[name]);
    return this;
  }
}

const NAN = Number.NaN;

/** Width of a bin along the path. */
export const PATH_BIN_MM = 0.25;
const PATH_BINS = 512;
/** In `gap`: the arc met metal that was gone. */
export const GAP_KERF = 1;
/** In `gap`: beyond the edge of the sheet. */
export const GAP_EDGE = 2;

const EMPTY_PATH = { plate_mm: NAN, target_mm: NAN, low_mm: NAN, high_mm: NAN, gap: 0, contour: -1 };

/** The last 128 mm of path, in bins of 0.25 mm: where the sheet was, and lowest and highest torch tip over it. */
export class PathRing extends Ring<keyof typeof EMPTY_PATH> {
  constructor() {
    super(PATH_BINS, EMPTY_PATH);
  }

  /**
   * @param plate_mm  height of the sheet under the torch
   * @param torch_mm  height of the torch tip, or NaN while nothing burns
   * @param target_mm target standoff there
   * @param gap       GAP_* bits
   */
  add(path_mm: number, plate_mm: number, torch_mm: number, target_mm: number, gap: number, contour: number): void {
    const bin = Math.floor(path_mm / PATH_BIN_MM);
    if (bin > this.newest) this.open(bin);
    const { columns } = this;
    const at = bin % PATH_BINS;
    if (bin < this.oldest) return;
    // Two contours may meet in one bin, each at its own place on the sheet: the later one has it.
    if (columns.contour[at] !== contour) this.clear(at);
    columns.plate_mm[at] = plate_mm;
    columns.target_mm[at] = target_mm;
    columns.gap[at] |= gap;
    columns.contour[at] = contour;
    columns.low_mm[at] = lesser(columns.low_mm[at], torch_mm);
    columns.high_mm[at] = greater(columns.high_mm[at], torch_mm);
  }

  copy(): PathRing {
    return new PathRing().take(this);
  }
}

/** Width of a bin in time. */
export const TIME_BIN_MS = 5;
const TIME_BINS = 4096;

const EMPTY_TIME = {
  standoff_low_mm: NAN,
  standoff_high_mm: NAN,
  arc_low_V: NAN,
  arc_high_V: NAN,
  target_V: NAN,
  mode: 0,
  hold: 0,
};

/** The last 20 s, in bins of 5 ms: standoff, arc voltage and its target, mode, and HOLD_* code met, 0 for none. */
export class TimeRing extends Ring<keyof typeof EMPTY_TIME> {
  constructor() {
    super(TIME_BINS, EMPTY_TIME);
  }

  /** One row of a run; @param tick from power-up, one a millisecond. */
  add(tick: number, standoff_mm: number, measured_V: number, target_V: number, mode: number, hold: number): void {
    const bin = Math.floor(tick / TIME_BIN_MS);
    if (bin > this.newest) this.open(bin);
    const { columns } = this;
    const at = bin % TIME_BINS;
    columns.standoff_low_mm[at] = lesser(columns.standoff_low_mm[at], standoff_mm);
    columns.standoff_high_mm[at] = greater(columns.standoff_high_mm[at], standoff_mm);
    columns.arc_low_V[at] = lesser(columns.arc_low_V[at], measured_V);
    columns.arc_high_V[at] = greater(columns.arc_high_V[at], measured_V);
    columns.target_V[at] = target_V;
    columns.mode[at] = mode;
    if (hold !== 0) columns.hold[at] = hold;
  }
}

const OVERVIEW_BINS = 1024;

/**
 * The whole run along its path, however long: least and largest standoff in each of at most 1024 bins.
 * When the path outgrows them, neighbours are joined and a bin covers twice the path.
 */
export class Overview {
  /** Path that one bin covers, mm. */
  bin_mm = 1;
  /** Bins in use. */
  count = 0;
  private readonly low_mm = new Float32Array(OVERVIEW_BINS).fill(Number.NaN);
  private readonly high_mm = new Float32Array(OVERVIEW_BINS).fill(Number.NaN);

  add(path_mm: number, standoff_mm: number): void {
    let at = Math.floor(path_mm / this.bin_mm);
    while (at >= OVERVIEW_BINS) {
      this.join();
      at = Math.floor(path_mm / this.bin_mm);
    }
    if (at >= this.count) this.count = at + 1;
    this.low_mm[at] = lesser(this.low_mm[at], standoff_mm);
    this.high_mm[at] = greater(this.high_mm[at], standoff_mm);
  }

  /** Least standoff of bins from…to (not included); NaN when nothing was cut there. */
  low(from: number, to: number): number {
    let low = Number.NaN;
    for (let at = from; at < to; at++) low = lesser(low, this.low_mm[at]);
    return low;
  }

  high(from: number, to: number): number {
    let high = Number.NaN;
    for (let at = from; at < to; at++) high = greater(high, this.high_mm[at]);
    return high;
  }

  private join(): void {
    for (let at = 0; at < OVERVIEW_BINS / 2; at++) {
      const low = this.low(2 * at, 2 * at + 2);
      const high = this.high(2 * at, 2 * at + 2);
      this.low_mm[at] = low;
      this.high_mm[at] = high;
    }
    this.low_mm.fill(Number.NaN, OVERVIEW_BINS / 2);
    this.high_mm.fill(Number.NaN, OVERVIEW_BINS / 2);
    this.count = Math.ceil(this.count / 2);
    this.bin_mm *= 2;
  }
}

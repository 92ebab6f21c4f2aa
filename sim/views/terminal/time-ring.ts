/** Width of a bin in time. */
export const TIME_BIN_MS = 5;
const BINS = 4096;

/** The last 20 s, in bins of 5 ms: standoff, arc voltage, mode and hold. Bounded, as PathRing is. */
export class TimeRing {
  newest = -1;
  oldest = 0;
  private readonly standoff_low_mm = new Float32Array(BINS);
  private readonly standoff_high_mm = new Float32Array(BINS);
  private readonly arc_low_V = new Float32Array(BINS);
  private readonly arc_high_V = new Float32Array(BINS);
  private readonly targets_V = new Float32Array(BINS);
  private readonly modes = new Uint8Array(BINS);
  private readonly holds = new Uint8Array(BINS);

  /** One row of a run; @param tick from power-up, one a millisecond. */
  add(tick: number, standoff_mm: number, measured_V: number, target_V: number, mode: number, hold: number): void {
    const bin = Math.floor(tick / TIME_BIN_MS);
    const at = bin % BINS;
    if (bin > this.newest) {
      this.open(bin);
      this.standoff_low_mm[at] = standoff_mm;
      this.standoff_high_mm[at] = standoff_mm;
      this.arc_low_V[at] = measured_V;
      this.arc_high_V[at] = measured_V;
      this.holds[at] = 0;
    } else {
      if (standoff_mm < this.standoff_low_mm[at]) this.standoff_low_mm[at] = standoff_mm;
      if (standoff_mm > this.standoff_high_mm[at]) this.standoff_high_mm[at] = standoff_mm;
      if (measured_V < this.arc_low_V[at]) this.arc_low_V[at] = measured_V;
      if (measured_V > this.arc_high_V[at]) this.arc_high_V[at] = measured_V;
    }
    this.targets_V[at] = target_V;
    this.modes[at] = mode;
    if (hold !== 0) this.holds[at] = hold;
  }

  /** Time that was left out, such as rows of a box that were lost on the way, stays empty. */
  private open(bin: number): void {
    if (this.newest < 0 || bin - this.newest >= BINS) this.oldest = bin;
    else if (bin - BINS + 1 > this.oldest) this.oldest = bin - BINS + 1;
    for (let left_out = Math.max(this.newest + 1, this.oldest); left_out < bin; left_out++) {
      const at = left_out % BINS;
      this.standoff_low_mm[at] = this.standoff_high_mm[at] = Number.NaN;
      this.arc_low_V[at] = this.arc_high_V[at] = this.targets_V[at] = Number.NaN;
      this.modes[at] = 0;
      this.holds[at] = 0;
    }
    this.newest = bin;
  }

  has(bin: number): boolean {
    return bin >= this.oldest && bin <= this.newest;
  }

  standoffLow(bin: number): number {
    return this.standoff_low_mm[bin % BINS];
  }

  standoffHigh(bin: number): number {
    return this.standoff_high_mm[bin % BINS];
  }

  arcLow(bin: number): number {
    return this.arc_low_V[bin % BINS];
  }

  arcHigh(bin: number): number {
    return this.arc_high_V[bin % BINS];
  }

  target(bin: number): number {
    return this.targets_V[bin % BINS];
  }

  mode(bin: number): number {
    return this.modes[bin % BINS];
  }

  /** HOLD_* code met in the bin, 0 for none. */
  hold(bin: number): number {
    return this.holds[bin % BINS];
  }
}

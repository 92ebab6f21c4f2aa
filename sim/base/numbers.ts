/**
 * Seeded generator for the simulated world: sfc32 (C. Doty-Humphrey, PractRand; public domain), integer
 * arithmetic only, so that one seed gives one result on every engine. No transcendental function is used.
 */
export class Random {
  private a: number;
  private b: number;
  private c: number;
  private counter: number;

  /** @param seed any 32-bit integer; @param stream separates independent users of one seed. */
  constructor(seed: number, stream = 0) {
    this.a = seed | 0;
    this.b = stream | 0;
    this.c = 0x5f356495;
    this.counter = 1;
    // Twelve rounds mix a seed of few bits over the whole state (the number that PractRand uses).
    for (let round = 0; round < 12; round++) this.next_u32();
  }

  /** The whole state, for a twin of this generator elsewhere. */
  get state(): readonly [number, number, number, number] {
    return [this.a, this.b, this.c, this.counter];
  }

  /** 32 random bits as a signed integer. */
  next_u32(): number {
    const sum = (((this.a + this.b) | 0) + this.counter) | 0;
    this.counter = (this.counter + 1) | 0;
    this.a = this.b ^ (this.b >>> 9);
    this.b = (this.c + (this.c << 3)) | 0;
    this.c = (((this.c << 21) | (this.c >>> 11)) + sum) | 0;
    return sum;
  }

  /** Uniform in 0 ≤ x < 1, 32 bits. */
  uniform(): number {
    return (this.next_u32() >>> 0) / 4294967296;
  }

  /** Uniform in low ≤ x < high. */
  between(low: number, high: number): number {
    return low + (high - low) * this.uniform();
  }

  /** True with the given probability (0…1). */
  chance(probability: number): boolean {
    return this.uniform() < probability;
  }

  /**
   * Nearly Gaussian, mean 0, rms 1: the sum of the four bytes of one draw (Irwin–Hall, n = 4), which ends
   * at ±3.46; enough for noise whose sum over ten readings is what matters, at one draw a sample.
   */
  gaussian(): number {
    return this.gaussianSum() * GAUSSIAN_SCALE;
  }

  /** `gaussian` / GAUSSIAN_SCALE: a whole number, which the engine can hand over without boxing it. */
  gaussianSum(): number {
    const bits = this.next_u32();
    return (bits & 0xff) + ((bits >>> 8) & 0xff) + ((bits >>> 16) & 0xff) + (bits >>> 24) - 510;
  }
}

/** Four bytes, each uniform on 0…255, have variance 4·(256² − 1)/12 = 147.8²; its inverse. */
const GAUSSIAN_SCALE = 1 / Math.sqrt((4 * (256 * 256 - 1)) / 12);

/** Millimetres per inch; exact by the 1959 international yard and pound agreement. */
export const MM_PER_INCH = 25.4;

/** Ticks of the control module a second; every host loop counts in these. */
export const TICKS_PER_S = 1000;
/** Converter readings in a tick. */
export const READINGS_PER_TICK = 10;

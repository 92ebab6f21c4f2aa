import type { TraceBlock } from './block.gen.js';
import { BLOCK_TICKS, type TraceSink } from './columns.js';

/**
 * A hash of a run in 64 bits, two lanes of 32: the block steps and the finish of MurmurHash3_x86_32 (A. Appleby,
 * public domain; from memory), each lane over half of the words, the lanes stirred together at the end. Not
 * cryptographic: it tells runs apart, it does not stop anybody from forging one.
 *
 * It covers, tick by tick and in order: z_steps, digital_outputs, mode, fault, measured_V, standoff_mm, x_mm, y_mm. Integer
 * arithmetic only, so one run has one hash on every engine and for every division into blocks. Every NaN
 * counts as the same bits, because engines differ in them.
 */
export class TraceHash implements TraceSink {
  private lane_a = 0x53544e44;
  private lane_b = 0x4f464631;
  private ticks = 0;
  private readonly reals = new Float32Array(4 * BLOCK_TICKS);
  private readonly bits = new Int32Array(this.reals.buffer);

  block(block: TraceBlock): void {
    const { z_steps, digital_outputs, mode, fault, count } = block;
    const bits = this.bits;
    const reals = this.reals;
    // One copy a column lets the bits of the reals be read as integers.
    reals.set(block.measured_V, 0);
    reals.set(block.standoff_mm, BLOCK_TICKS);
    reals.set(block.x_mm, 2 * BLOCK_TICKS);
    reals.set(block.y_mm, 3 * BLOCK_TICKS);
    let a = this.lane_a;
    let b = this.lane_b;
    for (let row = 0; row < count; row++) {
      a = stir(a, (z_steps[row] & 0xffff) | (digital_outputs[row] << 16) | (mode[row] << 24));
      b = stir(b, sameBits(bits[row]) ^ Math.imul(fault[row], 0x01000193));
      a = stir(a, sameBits(bits[BLOCK_TICKS + row]));
      b = stir(b, sameBits(bits[2 * BLOCK_TICKS + row]));
      a = stir(a, sameBits(bits[3 * BLOCK_TICKS + row]));
    }
    this.lane_a = a;
    this.lane_b = b;
    this.ticks += count;
  }

  /** Sixteen lower-case hexadecimal digits; may be asked at any time. */
  hex(): string {
    const a = finish(this.lane_a ^ this.ticks);
    const b = finish(this.lane_b ^ a);
    return hex8(finish(a ^ b)) + hex8(b);
  }
}

function stir(lane: number, word: number): number {
  let k = Math.imul(word, 0xcc9e2d51);
  k = (k << 15) | (k >>> 17);
  lane ^= Math.imul(k, 0x1b873593);
  lane = (lane << 13) | (lane >>> 19);
  return (Math.imul(lane, 5) + 0xe6546b64) | 0;
}

function finish(lane: number): number {
  lane ^= lane >>> 16;
  lane = Math.imul(lane, 0x85ebca6b);
  lane ^= lane >>> 13;
  lane = Math.imul(lane, 0xc2b2ae35);
  return lane ^ (lane >>> 16);
}

/** Any NaN has all bits of the exponent set and some below. */
function sameBits(bits: number): number {
  return (bits & 0x7fffffff) > 0x7f800000 ? 0x7fc00000 : bits;
}

function hex8(word: number): string {
  return (word >>> 0).toString(16).padStart(8, '0');
}

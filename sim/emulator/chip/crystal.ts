// Its own file beside the chip: what a crystal does before it runs is a matter of the board, not of the chip's registers.
import type { BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { Registers } from './registers.js';

const CTRL = 0x00;
const STATUS = 0x04;
const STARTUP = 0x0c;
const ENABLE = 0xfab;
const STABLE = 0x80000000;
const ENABLED = 1 << 12;
/** The chip counts the start in 256 periods of the crystal. */
const PERIODS = 256;
const CRYSTAL_HZ = 12e6;

/**
 * Crystal oscillator (RP2040 datasheet 2.16): after it is switched on it counts, and then calls itself stable, whether the crystal
 * is or not. It runs on through a watchdog reset that leaves it out.
 */
export class Crystal extends Registers {
  /** Time that this board's crystal needs, ns; infinity: there is none, or it is broken. */
  settles_ns = 6e6;
  private on_since_ns = Number.POSITIVE_INFINITY;

  constructor(
    private readonly clock: BoardClock,
    problems: Problems,
  ) {
    super('crystal', problems, { [CTRL]: 0xffffff, [STARTUP]: 0x3fff });
    this.powerUp();
  }

  powerUp(): void {
    this.on_since_ns = Number.POSITIVE_INFINITY;
    this.reg[CTRL] = 0;
    // As the chip has it after its power-up: about 1 ms.
    this.reg[STARTUP] = 0xc4;
  }

  override readUint32(offset: number): number {
    if (offset !== STATUS) return super.readUint32(offset);
    const on_ns = this.clock.nanos - this.on_since_ns;
    const counted = this.settles_ns !== Number.POSITIVE_INFINITY && on_ns >= this.counts_ns;
    if (counted && on_ns < this.settles_ns) {
      this.problems.note('crystal', `used after ${Math.round(on_ns / 1e6)} ms, needs ${this.settles_ns / 1e6}`);
    }
    return ((counted ? STABLE : 0) | (on_ns >= 0 ? ENABLED : 0)) >>> 0;
  }

  override writeUint32(offset: number, value: number): void {
    const before = this.on;
    super.writeUint32(offset, value);
    if (this.on !== before) this.on_since_ns = this.on ? this.clock.nanos : Number.POSITIVE_INFINITY;
  }

  private get on(): boolean {
    return this.reg[CTRL] >>> 12 === ENABLE;
  }

  private get counts_ns(): number {
    return (this.reg[STARTUP] * PERIODS * 1e9) / CRYSTAL_HZ;
  }
}

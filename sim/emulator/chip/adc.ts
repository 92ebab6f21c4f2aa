// The converter, with its FIFO and its requests to the DMA: one peripheral, one file.
import type { Alarm, BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { Registers } from './registers.js';

const CS = 0x00;
const RESULT = 0x04;
const FCS = 0x08;
const FIFO = 0x0c;
const DIV = 0x10;
const INTR = 0x14;
const INTE = 0x18;
const INTF = 0x1c;
const INTS = 0x20;

const EN = 1;
const START_ONCE = 4;
const START_MANY = 8;
const READY = 1 << 8;
/** Bits of FCS. */
const SHIFT = 2;
const DREQ_EN = 8;
const EMPTY = 1 << 8;
const FULL = 1 << 9;
const UNDER = 1 << 10;
const OVER = 1 << 11;
const KEPT = { [CS]: 0x1f7f0b, [FCS]: 0x0f00000f, [DIV]: 0xffffff, [INTE]: 1, [INTF]: 1 };
const DEPTH = 4;
const CHANNELS = 5;
const IRQ = 22;
const DREQ = 36;
/** 96 cycles of its clock of 48 MHz. */
const CONVERSION_ns = 2000;
const CLOCK_MHz = 48;

/** DMA requests of the emulator package. */
export interface Requests {
  setDREQ(channel: number): void;
  clearDREQ(channel: number): void;
}

/** The ADC (datasheet 4.9), a block of its own. It asks for the counts of a channel at the end of each conversion. */
export class Converter extends Registers {
  /** Counts of the channel now, 0…4095. */
  sample: (channel: number) => number = () => 0;

  private busy = false;
  private overflow = false;
  private underflow = false;
  private started_ns = 0;
  private readonly fifo: number[] = [];
  private readonly done: Alarm;
  private readonly again: Alarm;

  constructor(
    private readonly clock: BoardClock,
    problems: Problems,
    private readonly setInterrupt: (irq: number, on: boolean) => void,
    private readonly requests: Requests,
    private readonly clockOn: () => boolean,
  ) {
    super('converter', problems, KEPT);
    this.done = clock.createAlarm(() => this.finish());
    this.again = clock.createAlarm(() => this.begin());
  }

  /** Held in reset. */
  reset(): void {
    this.stop();
    this.reg.fill(0);
    this.fifo.length = 0;
    this.tell();
  }

  override readUint32(offset: number): number {
    switch (offset) {
      case CS:
        return this.reg[CS] | (this.busy || (this.reg[CS] & EN) === 0 ? 0 : READY);
      case RESULT:
        return this.reg[RESULT];
      case FCS:
        return (
          this.reg[FCS] |
          (this.fifo.length << 16) |
          (this.overflow ? OVER : 0) |
          (this.underflow ? UNDER : 0) |
          (this.fifo.length === DEPTH ? FULL : 0) |
          (this.fifo.length === 0 ? EMPTY : 0)
        );
      case FIFO:
        return this.take();
      case INTR:
        return this.intr;
      case INTS:
        return this.ints;
      default:
        return super.readUint32(offset);
    }
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === CS) this.setControl(value);
    else {
      super.writeUint32(offset, value);
      if (offset === FCS && (this.raw & OVER) !== 0) this.overflow = false;
      if (offset === FCS && (this.raw & UNDER) !== 0) this.underflow = false;
    }
    this.tell();
  }

  private setControl(value: number): void {
    const many_before = (this.reg[CS] & (EN | START_MANY)) === (EN | START_MANY);
    super.writeUint32(CS, value);
    if ((value & EN) === 0) {
      this.stop();
      return;
    }
    if (!this.clockOn()) this.problems.note('converter', 'switched on without its clock of 48 MHz');
    const many = (value & START_MANY) !== 0;
    if (!many) this.again.cancel();
    if (!this.busy && ((value & START_ONCE) !== 0 || (many && !many_before))) this.begin();
  }

  private stop(): void {
    this.busy = false;
    this.done.cancel();
    this.again.cancel();
  }

  private get channel(): number {
    return (this.reg[CS] >>> 12) & 7;
  }

  private begin(): void {
    this.busy = true;
    this.started_ns = this.clock.nanos;
    this.done.schedule(CONVERSION_ns);
  }

  private finish(): void {
    this.busy = false;
    const { channel } = this;
    this.reg[RESULT] = channel < CHANNELS ? this.sample(channel) & 4095 : 0;
    if ((this.reg[FCS] & 1) !== 0) this.push(this.reg[RESULT]);
    this.nextChannel(channel);
    if ((this.reg[CS] & START_MANY) !== 0) {
      const period_ns = ((1 + this.reg[DIV] / 256) * 1000) / CLOCK_MHz;
      this.again.schedule(Math.max(CONVERSION_ns, period_ns) - (this.clock.nanos - this.started_ns));
    }
    this.tell();
  }

  private nextChannel(channel: number): void {
    const robin = (this.reg[CS] >>> 16) & 31;
    if (robin === 0) return;
    let next = (channel + 1) % CHANNELS;
    while ((robin & (1 << next)) === 0) next = (next + 1) % CHANNELS;
    this.reg[CS] = (this.reg[CS] & ~0x7000) | (next << 12);
  }

  private push(value: number): void {
    if (this.fifo.length === DEPTH) {
      this.overflow = true;
      this.problems.note('converter', 'reading lost: its queue is full');
    } else this.fifo.push((this.reg[FCS] & SHIFT) !== 0 ? value >> 4 : value);
  }

  private take(): number {
    if (this.fifo.length === 0) {
      this.underflow = true;
      return 0;
    }
    const value = this.fifo.shift()!;
    this.tell();
    return value;
  }

  private get intr(): number {
    const threshold = (this.reg[FCS] >>> 24) & 15;
    return this.fifo.length >= threshold ? 1 : 0;
  }

  private get ints(): number {
    return (this.intr & this.reg[INTE]) | this.reg[INTF];
  }

  private tell(): void {
    this.setInterrupt(IRQ, this.ints !== 0);
    if ((this.reg[FCS] & DREQ_EN) === 0) return;
    if (this.intr !== 0 && this.fifo.length > 0) this.requests.setDREQ(DREQ);
    else this.requests.clearDREQ(DREQ);
  }
}

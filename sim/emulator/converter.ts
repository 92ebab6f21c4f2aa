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
const CS_KEPT = 0x1f7f0b;
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

/** The converter (datasheet 4.9). What it converts is asked for at the end of each conversion, by channel. */
export class Converter extends Registers {
  /** Counts of the channel now, 0…4095. */
  sample: (channel: number) => number = () => 0;

  private control = 0;
  private fifo_control = 0;
  private divider = 0;
  private enabled_interrupt = 0;
  private forced = 0;
  private result = 0;
  private busy = false;
  private overflow = false;
  private underflow = false;
  private started_ns = 0;
  private readonly fifo: number[] = [];
  private readonly done: Alarm;
  private readonly again: Alarm;

  constructor(
    private readonly clock: BoardClock,
    private readonly problems: Problems,
    private readonly setInterrupt: (irq: number, on: boolean) => void,
    private readonly requests: Requests,
    private readonly clockOn: () => boolean,
  ) {
    super();
    this.done = clock.createAlarm(() => this.finish());
    this.again = clock.createAlarm(() => this.begin());
  }

  /** Held in reset. */
  reset(): void {
    this.stop();
    this.control = 0;
    this.fifo_control = 0;
    this.divider = 0;
    this.enabled_interrupt = 0;
    this.forced = 0;
    this.fifo.length = 0;
    this.tell();
  }

  override readUint32(offset: number): number {
    switch (offset) {
      case CS:
        return this.control | (this.busy || (this.control & EN) === 0 ? 0 : READY);
      case RESULT:
        return this.result;
      case FCS:
        return (
          this.fifo_control |
          (this.fifo.length << 16) |
          (this.overflow ? 1 << 11 : 0) |
          (this.underflow ? 1 << 10 : 0) |
          (this.fifo.length === DEPTH ? 1 << 9 : 0) |
          (this.fifo.length === 0 ? 1 << 8 : 0)
        );
      case FIFO:
        return this.take();
      case DIV:
        return this.divider;
      case INTR:
        return this.raised;
      case INTE:
        return this.enabled_interrupt;
      case INTF:
        return this.forced;
      case INTS:
        return (this.raised & this.enabled_interrupt) | this.forced;
      default:
        this.problems.note('converter', `read from offset ${offset.toString(16)}`);
        return 0;
    }
  }

  override writeUint32(offset: number, value: number): void {
    switch (offset) {
      case CS:
        this.setControl(value);
        break;
      case FCS:
        if ((this.raw & (1 << 11)) !== 0) this.overflow = false;
        if ((this.raw & (1 << 10)) !== 0) this.underflow = false;
        this.fifo_control = value & 0x0f00000f;
        break;
      case DIV:
        this.divider = value & 0xffffff;
        break;
      case INTE:
        this.enabled_interrupt = value & 1;
        break;
      case INTF:
        this.forced = value & 1;
        break;
      default:
        this.problems.note('converter', `write to offset ${offset.toString(16)}`);
    }
    this.tell();
  }

  private setControl(value: number): void {
    const many_before = (this.control & (EN | START_MANY)) === (EN | START_MANY);
    this.control = value & CS_KEPT;
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
    return (this.control >>> 12) & 7;
  }

  private begin(): void {
    this.busy = true;
    this.started_ns = this.clock.nanos;
    this.done.schedule(CONVERSION_ns);
  }

  private finish(): void {
    this.busy = false;
    const { channel } = this;
    this.result = channel < CHANNELS ? this.sample(channel) & 4095 : 0;
    if ((this.fifo_control & 1) !== 0) this.push(this.result);
    this.nextChannel(channel);
    if ((this.control & START_MANY) !== 0) {
      const period_ns = ((1 + this.divider / 256) * 1000) / CLOCK_MHz;
      this.again.schedule(Math.max(CONVERSION_ns, period_ns) - (this.clock.nanos - this.started_ns));
    }
    this.tell();
  }

  private nextChannel(channel: number): void {
    const robin = (this.control >>> 16) & 31;
    if (robin === 0) return;
    let next = (channel + 1) % CHANNELS;
    while ((robin & (1 << next)) === 0) next = (next + 1) % CHANNELS;
    this.control = (this.control & ~0x7000) | (next << 12);
  }

  private push(value: number): void {
    if (this.fifo.length === DEPTH) {
      this.overflow = true;
      this.problems.note('converter', 'reading lost: its queue is full');
    } else this.fifo.push((this.fifo_control & 2) !== 0 ? value >> 4 : value);
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

  private get raised(): number {
    const threshold = (this.fifo_control >>> 24) & 15;
    return this.fifo.length >= threshold ? 1 : 0;
  }

  private tell(): void {
    this.setInterrupt(IRQ, ((this.raised & this.enabled_interrupt) | this.forced) !== 0);
    if ((this.fifo_control & 8) === 0) return;
    if (this.raised !== 0 && this.fifo.length > 0) this.requests.setDREQ(DREQ);
    else this.requests.clearDREQ(DREQ);
  }
}

// The serial port, with its FIFOs and errors: one peripheral, one file.
import type { Alarm, BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { Registers } from './registers.js';

const DR = 0x00;
const RSR = 0x04;
const FR = 0x18;
const IBRD = 0x24;
const FBRD = 0x28;
const LCR_H = 0x2c;
const CR = 0x30;
const IFLS = 0x34;
const IMSC = 0x38;
const RIS = 0x3c;
const MIS = 0x40;
const ICR = 0x44;
const DMACR = 0x48;

const KEPT = { [IBRD]: 0xffff, [FBRD]: 63, [LCR_H]: 255, [CR]: 0xffff, [IFLS]: 63, [IMSC]: 0x7ff, [DMACR]: 0 };
/** Bits of FR. */
const BUSY = 1 << 3;
const RXFE = 1 << 4;
const TXFF = 1 << 5;
const RXFF = 1 << 6;
const TXFE = 1 << 7;
/** Interrupts, and the overrun error of RSR. */
const RXIM = 1 << 4;
const TXIM = 1 << 5;
const RTIM = 1 << 6;
const FEIM = 1 << 7;
const OEIM = 1 << 10;
const OE = 1 << 3;

const FIFO = 32;
const IRQ = 20;
/** Start bit, eight bits, stop bit. */
const BITS = 10;
/** The receive time-out: as long as 32 bits. */
const TIMEOUT_BITS = 32;
/** FIFO levels that IFLS chooses. */
const LEVELS = [4, 8, 16, 24, 28] as const;
/** The two ends of a line understand each other up to this relative difference of speed. */
const SPEED_TOLERANCE = 0.03;

/**
 * PL011 (ARM DDI 0183) at the speed of its line in both directions: queues of 32 bytes, levels, time-out, overrun. Bytes
 * from outside come one after the other, back to back, at the speed of the board's side unless `outside_baud` says
 * otherwise; then a wrong speed garbles both ways.
 */
export class Uart extends Registers {
  /** Speed of the other end; 0: whatever the board's is. */
  outside_baud = 0;
  /** Called when a byte has left the board. */
  onByte: (byte: number) => void = () => {};
  /** Bytes lost because the board was too slow to take them. */
  overruns = 0;

  private readonly coming: number[] = [];
  private coming_at = 0;
  private readonly rx: number[] = [];
  private readonly tx: number[] = [];
  private sending = -1;
  private readonly receive: Alarm;
  private readonly transmit: Alarm;
  private readonly timeout: Alarm;
  private receiving = false;

  constructor(
    clock: BoardClock,
    problems: Problems,
    private readonly setInterrupt: (irq: number, on: boolean) => void,
    private readonly peripheral_Hz: () => number,
  ) {
    super('UART', problems, KEPT);
    this.setUp();
    this.receive = clock.createAlarm(() => this.arrive());
    this.transmit = clock.createAlarm(() => this.sent());
    this.timeout = clock.createAlarm(() => this.idle());
  }

  /** Speed of the line as the board has set it, bit/s; 0 while it has not. */
  get baud(): number {
    const divisor = this.reg[IBRD] + this.reg[FBRD] / 64;
    return divisor < 1 ? 0 : this.peripheral_Hz() / (16 * divisor);
  }

  /** Puts bytes on the line, behind those that are on it. */
  feed(bytes: Uint8Array): void {
    for (const byte of bytes) this.coming.push(byte);
    if (!this.receiving) this.nextByte();
  }

  /** The line is cut or the peer gone: the bytes on the line are lost. */
  dropLine(): void {
    this.coming.length = 0;
    this.coming_at = 0;
    this.receiving = false;
    this.receive.cancel();
  }

  /** Held in reset: set-up and queues are lost; the line outside goes on. */
  reset(): void {
    this.rx.length = 0;
    this.tx.length = 0;
    this.sending = -1;
    this.transmit.cancel();
    this.timeout.cancel();
    this.setUp();
    this.tell();
  }

  /** Contents after a reset: TXE and RXE, and interrupts at half of both queues. */
  private setUp(): void {
    this.reg.fill(0);
    this.reg[CR] = 0x300;
    this.reg[IFLS] = 0x12;
  }

  override readUint32(offset: number): number {
    switch (offset) {
      case DR:
        return this.take();
      case RSR:
      case RIS:
        return this.reg[offset];
      case FR:
        return (
          (this.sending >= 0 ? BUSY : 0) |
          (this.rx.length === 0 ? RXFE : 0) |
          (this.tx.length >= this.depth ? TXFF : 0) |
          (this.rx.length >= this.depth ? RXFF : 0) |
          (this.tx.length === 0 ? TXFE : 0)
        );
      case MIS:
        return this.reg[RIS] & this.reg[IMSC];
      case ICR:
        return 0;
      default:
        return super.readUint32(offset);
    }
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === DR) this.put(value & 255);
    else if (offset === RSR) this.reg[RSR] = 0;
    else if (offset === ICR) this.reg[RIS] &= ~this.raw;
    else super.writeUint32(offset, value);
    if (offset === DMACR && value !== 0) this.problems.note('UART', 'its use with DMA is not known to the emulator');
    this.tell();
  }

  private get depth(): number {
    return (this.reg[LCR_H] & 16) !== 0 ? FIFO : 1;
  }

  private get byte_ns(): number {
    return (BITS * 1e9) / (this.outside_baud || this.baud || 115200);
  }

  private get understood(): boolean {
    if (this.outside_baud === 0) return true;
    return Math.abs(this.baud - this.outside_baud) <= SPEED_TOLERANCE * this.outside_baud;
  }

  private nextByte(): void {
    if (this.coming_at >= this.coming.length) {
      this.coming.length = 0;
      this.coming_at = 0;
      this.receiving = false;
      return;
    }
    this.receiving = true;
    this.receive.schedule(this.byte_ns);
  }

  private arrive(): void {
    const byte = this.coming[this.coming_at++];
    const on = (this.reg[CR] & 0x201) === 0x201 && this.baud > 0 && (this.reg[LCR_H] & 0x60) === 0x60;
    if (on) {
      this.accept(byte);
      this.tell();
    }
    this.nextByte();
  }

  private accept(byte: number): void {
    if (this.rx.length >= this.depth) {
      this.overruns++;
      this.reg[RIS] |= OEIM;
      this.reg[RSR] |= OE;
      return;
    }
    if (this.understood) this.rx.push(byte);
    else {
      this.rx.push(((byte * 37) & 255) | 0x100);
      this.reg[RIS] |= FEIM;
    }
    if (this.rx.length >= this.level(this.reg[IFLS] >>> 3)) this.reg[RIS] |= RXIM;
    this.timeout.schedule((TIMEOUT_BITS * 1e9) / Math.max(1, this.baud));
  }

  /** Level of a queue by its code in IFLS; without queues, one byte. */
  private level(code: number): number {
    return this.depth === 1 ? 1 : (LEVELS[code & 7] ?? FIFO);
  }

  private idle(): void {
    if (this.rx.length > 0) this.reg[RIS] |= RTIM;
    this.tell();
  }

  private take(): number {
    if (this.rx.length === 0) {
      this.problems.note('UART', 'read of a byte that has not come');
      return 0;
    }
    const byte = this.rx.shift()!;
    if (this.rx.length < this.level(this.reg[IFLS] >>> 3)) this.reg[RIS] &= ~RXIM;
    if (this.rx.length === 0) this.reg[RIS] &= ~RTIM;
    this.tell();
    return byte;
  }

  private put(byte: number): void {
    if ((this.reg[CR] & 0x101) !== 0x101 || this.baud === 0) {
      this.problems.note('UART', 'byte sent while it is off');
      return;
    }
    if (this.tx.length >= this.depth) {
      this.problems.note('UART', 'byte lost: the queue to the line is full');
      return;
    }
    this.tx.push(byte);
    if (this.tx.length > this.level(this.reg[IFLS] & 7)) this.reg[RIS] &= ~TXIM;
    if (this.sending < 0) this.start();
  }

  private start(): void {
    this.sending = this.tx.shift()!;
    // The interrupt comes when the queue falls to its level, not while it is below.
    if (this.tx.length === this.level(this.reg[IFLS] & 7) || (this.depth === 1 && this.tx.length === 0))
      this.reg[RIS] |= TXIM;
    this.transmit.schedule((BITS * 1e9) / this.baud);
  }

  private sent(): void {
    const byte = this.sending;
    this.sending = -1;
    if (this.tx.length > 0) this.start();
    this.tell();
    this.onByte(this.understood ? byte : (byte * 91) & 255);
  }

  private tell(): void {
    this.setInterrupt(IRQ, (this.reg[RIS] & this.reg[IMSC]) !== 0);
  }
}

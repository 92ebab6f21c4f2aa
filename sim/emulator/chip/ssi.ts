import type { BoardClock } from './clock.js';
import type { FlashChip } from './flash-chip.js';
import type { Problems } from './problems.js';
import { type Kept, keptWhole, Registers } from './registers.js';

const CTRLR0 = 0x00;
const CTRLR1 = 0x04;
const SSIENR = 0x08;
const SER = 0x10;
const BAUDR = 0x14;
const TXFLR = 0x20;
const RXFLR = 0x24;
const SR = 0x28;
const IDR = 0x58;
const VERSION = 0x5c;
const DR0 = 0x60;
const RX_SAMPLE_DLY = 0xf0;
const SPI_CTRLR0 = 0xf4;
const TXD_DRIVE_EDGE = 0xf8;

const KEPT: Kept = {
  ...{ [CTRLR0]: 0xffffffff, [CTRLR1]: 0xffffffff, [SSIENR]: 1, [SER]: 1, [BAUDR]: 0xfffe },
  ...{ [RX_SAMPLE_DLY]: 255, [SPI_CTRLR0]: 0xffffffff, [TXD_DRIVE_EDGE]: 0 },
};
const FIFO = 16;
const CS_LOW = 2;
const CS_HIGH = 3;

/** CTRLR0: frames of 32 bits (31), transfer mode 3 (read of a memory), plain serial. */
const XIP_FRAME_BITS = 31;
const XIP_TRANSFER_MODE = 3;
/** SPI_CTRLR0: command 03h of 8 bits, address of 24, no wait cycles. */
const XIP_SPI_CONTROL = (0x03 << 24) | (2 << 8) | (6 << 2);
const XIP_SPI_MASK = 0xff000000 | (0x1f << 11) | (3 << 8) | (15 << 2);

/**
 * The serial interface between RP2040 and flash chip (datasheet 4.10), as far as this board uses it: byte by byte with
 * the chip select held through IO_QSPI, and reads of the memory by the processor (XIP) with command 03h. It notes what
 * would fail on silicon: a lost byte, a select that rises too early.
 */
export class Ssi extends Registers {
  private override = 0;
  private readonly received: { readonly byte: number; readonly at_ns: number }[] = [];
  private line_free_ns = 0;

  constructor(
    private readonly chip: FlashChip,
    private readonly clock: BoardClock,
    problems: Problems,
    private readonly cycle_ns: () => number,
  ) {
    super('SSI', problems, KEPT);
  }

  /** Why the processor cannot read the flash now; empty when it can. */
  get xip_obstacle(): string {
    if (!this.enabled) return 'the serial interface is off';
    if (this.override !== 0) return 'the chip select is overridden';
    if (((this.reg[CTRLR0] >>> 16) & 31) !== XIP_FRAME_BITS || ((this.reg[CTRLR0] >>> 8) & 3) !== XIP_TRANSFER_MODE) {
      return 'the serial interface is not set up for reads by the processor';
    }
    if ((this.reg[SPI_CTRLR0] & XIP_SPI_MASK) !== (XIP_SPI_CONTROL & XIP_SPI_MASK))
      return 'the read command is not 03h';
    if (this.reg[BAUDR] === 0) return 'the serial interface has no clock';
    return this.chip.busy ? 'the flash chip is busy' : '';
  }

  /** Processor cycles of one line of the cache, eight bytes: command, address, data at one bit a clock. */
  get line_cycles(): number {
    return (8 + 24 + 64) * this.reg[BAUDR];
  }

  /** The same for one word that bypasses the cache. */
  get word_cycles(): number {
    return (8 + 24 + 32) * this.reg[BAUDR];
  }

  /** IO_QSPI's override of the chip select: 0 none, 2 low, 3 high. */
  overrideSelect(override: number): void {
    if (override === this.override) return;
    if (this.override === CS_LOW) {
      if (this.clock.nanos < this.line_free_ns) this.problems.note('SSI', 'chip select rises in the middle of a byte');
      this.chip.deselect();
    }
    this.override = override;
    if (override === CS_LOW) this.chip.select();
    else if (override !== CS_HIGH && override !== 0) this.problems.note('SSI', `chip select override ${override}`);
  }

  override readUint32(offset: number): number {
    switch (offset) {
      case TXFLR:
        return this.waiting();
      case RXFLR:
        return this.arrived();
      case SR:
        return this.status();
      case IDR:
        return 0x51535049;
      case VERSION:
        return 0x3430312a;
      case DR0:
        return this.take();
      default:
        return super.readUint32(offset);
    }
  }

  override writeUint32(offset: number, value: number): void {
    if (this.enabled && [CTRLR0, CTRLR1, BAUDR, SPI_CTRLR0].includes(offset)) {
      this.problems.note('SSI', `write to offset ${offset.toString(16)} while enabled has no effect`);
    } else if (offset === DR0) this.send(value & 255);
    else super.writeUint32(offset, value);
    if (offset === SSIENR && !this.enabled) {
      this.received.length = 0;
      this.line_free_ns = 0;
    }
  }

  private get enabled(): boolean {
    return this.reg[SSIENR] === 1;
  }

  private status(): number {
    const waiting = this.waiting();
    const arrived = this.arrived();
    return (
      (this.clock.nanos < this.line_free_ns ? 1 : 0) |
      (waiting < FIFO ? 2 : 0) |
      (waiting === 0 ? 4 : 0) |
      (arrived > 0 ? 8 : 0) |
      (arrived >= FIFO ? 16 : 0)
    );
  }

  private arrived(): number {
    const now_ns = this.clock.nanos;
    let count = 0;
    while (count < this.received.length && this.received[count].at_ns <= now_ns) count++;
    return count;
  }

  private waiting(): number {
    // The byte on the line has left the queue.
    return Math.max(0, this.received.length - this.arrived() - 1);
  }

  private send(byte: number): void {
    const plain = ((this.reg[CTRLR0] >>> 16) & 31) === 7 && ((this.reg[CTRLR0] >>> 8) & 3) === 0;
    if (!this.enabled || this.reg[SER] === 0 || this.reg[BAUDR] === 0 || !plain) {
      this.problems.note('SSI', 'byte sent without a set-up for bytes');
      return;
    }
    if (this.override !== CS_LOW) this.problems.note('SSI', 'byte sent without the chip select held low');
    if (this.waiting() >= FIFO) {
      this.problems.note('SSI', 'byte lost: the queue to the chip is full');
      return;
    }
    if (this.arrived() >= FIFO) this.problems.note('SSI', 'byte lost: the queue from the chip is full');
    const start_ns = Math.max(this.clock.nanos, this.line_free_ns);
    this.line_free_ns = start_ns + 8 * this.reg[BAUDR] * this.cycle_ns();
    this.received.push({ byte: this.chip.exchange(byte), at_ns: this.line_free_ns });
  }

  private take(): number {
    if (this.arrived() === 0) {
      this.problems.note('SSI', 'read of a byte that has not come');
      return 0;
    }
    return this.received.shift()!.byte;
  }
}

/** Offset of GPIO_QSPI_SS_CTRL, and where the registers end. */
const SS_CTRL = 0x0c;
const IO_QSPI_END = 0x58;

/** IO_QSPI (datasheet 2.19.6.2): only the override of the chip select matters here. */
export class IoQspi extends Registers {
  constructor(
    private readonly ssi: Ssi,
    problems: Problems,
  ) {
    super('IO_QSPI', problems, keptWhole(0, IO_QSPI_END));
  }

  override writeUint32(offset: number, value: number): void {
    super.writeUint32(offset, value);
    if (offset === SS_CTRL) this.ssi.overrideSelect((value >>> 8) & 3);
  }
}

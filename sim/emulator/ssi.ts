import type { BoardClock } from './clock.js';
import type { FlashChip } from './flash-chip.js';
import type { Problems } from './problems.js';
import { Registers } from './registers.js';

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
 * silicon would punish: a lost byte, a select that rises too early.
 */
export class Ssi extends Registers {
  private control_0 = 0;
  private control_1 = 0;
  private enabled = false;
  private slave = 0;
  private divider = 0;
  private spi_control = 0;
  private sample_delay = 0;
  private override = 0;
  private readonly received: { readonly byte: number; readonly at_ns: number }[] = [];
  private line_free_ns = 0;

  constructor(
    private readonly chip: FlashChip,
    private readonly clock: BoardClock,
    private readonly problems: Problems,
    private readonly cycle_ns: () => number,
  ) {
    super();
  }

  /** Why the processor cannot read the flash now; empty when it can. */
  get xip_obstacle(): string {
    if (!this.enabled) return 'the serial interface is off';
    if (this.override !== 0) return 'the chip select is held by hand';
    if (((this.control_0 >>> 16) & 31) !== XIP_FRAME_BITS || ((this.control_0 >>> 8) & 3) !== XIP_TRANSFER_MODE) {
      return 'the serial interface is not set up for reads by the processor';
    }
    if ((this.spi_control & XIP_SPI_MASK) !== (XIP_SPI_CONTROL & XIP_SPI_MASK)) return 'the read command is not 03h';
    if (this.divider === 0) return 'the serial interface has no clock';
    return this.chip.busy ? 'the flash chip is busy' : '';
  }

  /** Processor cycles of one line of the cache, eight bytes: command, address, data at one bit a clock. */
  get line_cycles(): number {
    return (8 + 24 + 64) * this.divider;
  }

  /** The same for one word, past the cache. */
  get word_cycles(): number {
    return (8 + 24 + 32) * this.divider;
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
      case CTRLR0:
        return this.control_0;
      case CTRLR1:
        return this.control_1;
      case SSIENR:
        return this.enabled ? 1 : 0;
      case SER:
        return this.slave;
      case BAUDR:
        return this.divider;
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
      case RX_SAMPLE_DLY:
        return this.sample_delay;
      case SPI_CTRLR0:
        return this.spi_control;
      case TXD_DRIVE_EDGE:
        return 0;
      default:
        this.problems.note('SSI', `read from offset ${offset.toString(16)}`);
        return 0;
    }
  }

  override writeUint32(offset: number, value: number): void {
    if (this.enabled && [CTRLR0, CTRLR1, BAUDR, SPI_CTRLR0].includes(offset)) {
      this.problems.note('SSI', `write to offset ${offset.toString(16)} while enabled has no effect`);
      return;
    }
    switch (offset) {
      case CTRLR0:
        this.control_0 = value;
        break;
      case CTRLR1:
        this.control_1 = value;
        break;
      case SSIENR:
        this.enabled = (value & 1) !== 0;
        if (!this.enabled) {
          this.received.length = 0;
          this.line_free_ns = 0;
        }
        break;
      case SER:
        this.slave = value & 1;
        break;
      case BAUDR:
        this.divider = value & 0xfffe;
        break;
      case DR0:
        this.send(value & 255);
        break;
      case RX_SAMPLE_DLY:
        this.sample_delay = value & 255;
        break;
      case SPI_CTRLR0:
        this.spi_control = value;
        break;
      case TXD_DRIVE_EDGE:
        break;
      default:
        this.problems.note('SSI', `write to offset ${offset.toString(16)}`);
    }
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
    while (count < this.received.length && this.received[count]!.at_ns <= now_ns) count++;
    return count;
  }

  private waiting(): number {
    // The byte on the line has left the queue.
    return Math.max(0, this.received.length - this.arrived() - 1);
  }

  private send(byte: number): void {
    const plain = ((this.control_0 >>> 16) & 31) === 7 && ((this.control_0 >>> 8) & 3) === 0;
    if (!this.enabled || this.slave === 0 || this.divider === 0 || !plain) {
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
    this.line_free_ns = start_ns + 8 * this.divider * this.cycle_ns();
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

/** IO_QSPI (datasheet 2.19.6.2): only the override of the chip select matters here. */
export class IoQspi extends Registers {
  private readonly words = new Uint32Array(0x58 / 4);

  constructor(private readonly ssi: Ssi) {
    super();
  }

  override readUint32(offset: number): number {
    return this.words[offset >>> 2] ?? 0;
  }

  override writeUint32(offset: number, value: number): void {
    this.words[offset >>> 2] = value;
    if (offset === 0x0c) this.ssi.overrideSelect((value >>> 8) & 3);
  }
}

import { Random } from '../../base/index.js';

/** Command set that serial NOR chips share (Linux kernel, spi-nor.h; W25Q16 data sheet: from memory). */
const WRITE_ENABLE = 0x06;
const WRITE_DISABLE = 0x04;
const READ_STATUS = 0x05;
const READ = 0x03;
const PAGE_PROGRAM = 0x02;
const SECTOR_ERASE = 0x20;
const BLOCK_ERASE = 0xd8;
const READ_IDENTIFICATION = 0x9f;
const READ_NUMBER = 0x4b;
/** Bytes between the command and the number. */
const NUMBER_AFTER = 4;

const PAGE = 256;
const SECTOR = 4096;
const BLOCK = 0x10000;
/** Bytes that an erase takes, by its command. */
const ERASES: Readonly<Record<number, number>> = { [SECTOR_ERASE]: SECTOR, [BLOCK_ERASE]: BLOCK };
const BUSY = 1;
const ENABLED = 2;

/** How long the chip is busy with an operation, µs. */
export interface FlashTimes {
  readonly sector_erase_us: number;
  readonly block_erase_us: number;
  readonly page_program_us: number;
}
/** Typical times of a 2 MiB chip: 45 ms, 150 ms for 64 KiB, 0.7 ms (data sheets of this class; from memory). */
export const REAL_TIMES: FlashTimes = { sector_erase_us: 45_000, block_erase_us: 150_000, page_program_us: 700 };
/** A chip that is done at once, for tests that are not about time. */
export const NO_TIMES: FlashTimes = { sector_erase_us: 0, block_erase_us: 0, page_program_us: 0 };

/** An erase or a program that the chip has taken. */
export interface FlashOperation {
  /** Counted from 0 since the chip was made. */
  readonly number: number;
  readonly kind: 'erase' | 'program';
  /** First byte of the page, sector or block. */
  readonly at: number;
  /** What stood there, and what will stand there. */
  readonly before: Uint8Array;
  readonly after: Uint8Array;
}

/** Power goes while the chip works at this operation, counted as `operations` counts. */
export interface PowerCut {
  readonly operation: number;
  readonly moment: 'before' | 'half-way' | 'after';
}

/**
 * A serial NOR flash chip, byte by byte as it hears them. Programming only clears bits and wraps within its page;
 * erasing sets the bits of a sector or a block; both need the write-enable latch; while busy the chip hears nothing but a request for its status.
 */
export class FlashChip {
  /** The number that the maker gave this one chip; here an invented one. */
  number: readonly number[] = [0xe6, 0x60, 0x58, 0x38, 0x83, 0x12, 0x4a, 0x2b];
  /** Operations so far. */
  operations = 0;
  cut: PowerCut | undefined;
  times: FlashTimes = REAL_TIMES;
  /** The power goes: called in the middle of an operation. */
  onPowerCut: () => void = () => {};
  onOperation: (operation: FlashOperation) => void = () => {};
  /** The same for what stands between the chip and the processor. */
  onChange: (at: number, bytes: number) => void = () => {};
  /** What a correct driver never does. */
  onMisuse: (what: string) => void = () => {};

  private write_enabled = false;
  private busy_until_ns = 0;
  private command = -1;
  private received = 0;
  private address = 0;
  private readonly page = new Uint8Array(PAGE);
  private page_bytes = 0;
  private ignored = false;

  /** @param memory the contents; the processor reads the same array */
  constructor(
    readonly memory: Uint8Array,
    private readonly now_ns: () => number,
  ) {}

  get busy(): boolean {
    return this.now_ns() < this.busy_until_ns;
  }

  /** Power comes back: latch and command are forgotten, the contents are not. */
  powerUp(): void {
    this.write_enabled = false;
    this.busy_until_ns = 0;
    this.command = -1;
    this.received = 0;
  }

  /** Chip select falls. */
  select(): void {
    this.command = -1;
    this.received = 0;
    this.address = 0;
    this.page_bytes = 0;
    this.ignored = false;
  }

  /** One byte in, one byte out. */
  exchange(byte: number): number {
    const place = this.received++;
    if (place === 0) {
      this.command = byte;
      this.ignored = this.busy && byte !== READ_STATUS;
      if (this.ignored) this.onMisuse(`command ${byte.toString(16)} while the chip is busy`);
      return 0xff;
    }
    if (this.ignored) return 0xff;
    switch (this.command) {
      case READ_STATUS:
        return (this.busy ? BUSY : 0) | (this.write_enabled ? ENABLED : 0);
      case READ_IDENTIFICATION:
        return [0xef, 0x40, 0x15][(place - 1) % 3];
      case READ_NUMBER:
        return place <= NUMBER_AFTER ? 0xff : this.number[(place - 1 - NUMBER_AFTER) % this.number.length];
      case READ:
        if (place <= 3) return this.takeAddress(byte);
        return this.memory[(this.address + place - 4) % this.memory.length];
      case PAGE_PROGRAM:
        if (place <= 3) return this.takeAddress(byte);
        // More than a page goes round and overwrites what was sent first.
        this.page[this.page_bytes++ % PAGE] = byte;
        return 0xff;
      case SECTOR_ERASE:
      case BLOCK_ERASE:
        if (place <= 3) return this.takeAddress(byte);
        return 0xff;
      default:
        return 0xff;
    }
  }

  /** Chip select rises: what was commanded begins, if it was whole. */
  deselect(): void {
    const { command, received, ignored } = this;
    this.command = -1;
    this.received = 0;
    if (ignored || received === 0) return;
    if (command === WRITE_ENABLE) this.write_enabled = true;
    else if (command === WRITE_DISABLE) this.write_enabled = false;
    else if (command === PAGE_PROGRAM || ERASES[command] !== undefined) this.begin(command, received);
    else if (![READ, READ_STATUS, READ_IDENTIFICATION, READ_NUMBER].includes(command)) {
      this.onMisuse(`unknown command ${command.toString(16)}`);
    }
  }

  private takeAddress(byte: number): number {
    this.address = (this.address * 256 + byte) % this.memory.length;
    return 0xff;
  }

  private begin(command: number, received: number): void {
    const erase_bytes = ERASES[command];
    const erase = erase_bytes !== undefined;
    if (!this.write_enabled || (erase ? received !== 4 : received < 5)) {
      this.onMisuse(`${erase ? 'erase' : 'program'} ${this.write_enabled ? 'cut short' : 'without write enable'}`);
      return;
    }
    if (!erase && this.page_bytes > PAGE) this.onMisuse(`${this.page_bytes} bytes for one page`);
    this.write_enabled = false;
    const bytes = erase_bytes ?? PAGE;
    const at = this.address - (this.address % bytes);
    const before = this.memory.slice(at, at + bytes);
    const after = erase ? new Uint8Array(bytes).fill(0xff) : this.programmed(before);
    const operation: FlashOperation = {
      number: this.operations++,
      kind: erase ? 'erase' : 'program',
      at,
      before,
      after,
    };
    this.perform(operation);
  }

  private perform(operation: FlashOperation): void {
    const { number, kind, at, after } = operation;
    const { cut } = this;
    const cut_now = cut !== undefined && cut.operation === number;
    if (!cut_now || cut.moment === 'after') this.memory.set(after, at);
    else if (cut.moment === 'half-way') this.memory.set(halfDone(operation), at);
    const { sector_erase_us, block_erase_us, page_program_us } = this.times;
    const erase_us = after.length === BLOCK ? block_erase_us : sector_erase_us;
    const time_us = kind === 'erase' ? erase_us : page_program_us;
    this.busy_until_ns = this.now_ns() + time_us * 1000;
    this.onChange(at, after.length);
    this.onOperation(operation);
    if (cut_now) this.onPowerCut();
  }

  /** The page with what was received ANDed into it, from the address on and round the page. */
  private programmed(before: Uint8Array): Uint8Array {
    const after = before.slice();
    const count = Math.min(this.page_bytes, PAGE);
    for (let n = 0; n < count; n++) {
      const from = this.page_bytes > PAGE ? (this.page_bytes + n) % PAGE : n;
      const to = ((this.address % PAGE) + this.page_bytes - count + n) % PAGE;
      after[to] &= this.page[from];
    }
    return after;
  }
}

/**
 * What a cut in the middle leaves: of the bits that were to change some have and some have not. Three shapes take turns
 * with the operation's number: the first half is done; each bit by the toss of a coin; and for an erase the state
 * between, in which all bits have been programmed to 0 first.
 */
export function halfDone({ number, kind, before, after }: FlashOperation): Uint8Array {
  const shape = number % 3;
  const half = before.slice();
  if (shape === 2 && kind === 'erase') return half.fill(0);
  if (shape === 0) {
    half.set(after.subarray(0, after.length / 2));
    return half;
  }
  const random = new Random(number);
  for (let n = 0; n < half.length; n++) {
    const done = random.next_u32() & 255;
    half[n] = (before[n] & ~done) | (after[n] & done);
  }
  return half;
}

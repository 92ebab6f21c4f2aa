import type { Problems } from './problems.js';

/** Addresses of the RP2040 (datasheet 2.2) and of the Cortex-M0+. */
export const FLASH_AT = 0x10000000;
export const RAM_AT = 0x20000000;
/** Four striped banks of 64 KiB and two of 4 KiB. */
export const RAM_BYTES = 0x42000;
/** The boot ROM copies the flash's first 256 bytes here: the last of the memory. */
export const BOOT_BLOCK_RAM_AT = 0x20041f00;

/** What the bus calls; the shape that the peripherals of the emulator package have. Offsets within 4 KiB. */
export interface Peripheral {
  readUint32(offset: number): number;
  writeUint32(offset: number, value: number): void;
  /** @param alias 0 write, 1 exclusive or, 2 set, 3 clear (RP2040 datasheet 2.1.2) */
  writeUint32Atomic(offset: number, value: number, alias: number): void;
  /** One or two bytes; a peripheral without it sees them repeated in a word, as the bus does it (2.1.4). */
  writeNarrow?(offset: number, bytes: number, value: number): void;
}

/** Bits that a register keeps of what is written to it, by its offset. */
export type Kept = Readonly<Record<number, number>>;

/** Registers that keep all of their bits, from an offset to before another. */
export const keptWhole = (from: number, to: number): Kept =>
  Object.fromEntries(Array.from({ length: (to - from) / 4 }, (_, n) => [from + 4 * n, 0xffffffff]));

/**
 * Registers of a peripheral of our own, with the RP2040's atomic aliases. What only keeps its value is in `kept`; a
 * peripheral adds what its other registers do. Any other offset is noted as a problem.
 */
export abstract class Registers implements Peripheral {
  /** Contents by offset. */
  protected readonly reg = new Uint32Array(0x100);
  /** The value as written, before an alias changed it: what registers that are cleared by writing ones need. */
  protected raw = 0;

  /** @param place name of the peripheral in a problem */
  constructor(
    private readonly place: string,
    protected readonly problems: Problems,
    private readonly kept: Kept,
  ) {}

  readUint32(offset: number): number {
    if (this.kept[offset] !== undefined) return this.reg[offset];
    this.problems.note(this.place, `read from offset ${offset.toString(16)}`);
    return 0;
  }

  writeUint32(offset: number, value: number): void {
    const bits = this.kept[offset];
    if (bits !== undefined) this.reg[offset] = value & bits;
    else this.problems.note(this.place, `write to offset ${offset.toString(16)}`);
  }

  writeUint32Atomic(offset: number, value: number, alias: number): void {
    this.raw = value >>> 0;
    if (alias === 0) this.writeUint32(offset, value >>> 0);
    else this.writeUint32(offset, changed(this.readUint32(offset), value, alias) >>> 0);
  }
}

function changed(before: number, value: number, alias: number): number {
  if (alias === 1) return before ^ value;
  return alias === 2 ? before | value : before & ~value;
}

const ALL = 0x01ffffff;
/**
 * Base of each peripheral in the order of its bit (datasheet 2.14.3): ADC, BUSCTRL, DMA, I2C0, I2C1, IO_BANK0, IO_QSPI,
 * JTAG (it has no registers), PADS_BANK0, PADS_QSPI, PIO0, PIO1, PLL_SYS, PLL_USB, PWM, RTC, SPI0, SPI1, SYSCFG, SYSINFO,
 * TBMAN, TIMER, UART0, UART1, USBCTRL.
 */
const BASES = [
  0x4004c000, 0x40030000, 0x50000000, 0x40044000, 0x40048000, 0x40014000, 0x40018000, -1, 0x4001c000, 0x40020000,
  0x50200000, 0x50300000, 0x40028000, 0x4002c000, 0x40050000, 0x4005c000, 0x4003c000, 0x40040000, 0x40004000,
  0x40000000, 0x4006c000, 0x40054000, 0x40034000, 0x40038000, 0x50110000,
];
const BITS: ReadonlyMap<number, number> = new Map(BASES.map((base, bit) => [base, 1 << bit]));
export const RESET_ADC = 1 << 0;
export const RESET_IO_BANK0 = 1 << 5;
export const RESET_PADS_BANK0 = 1 << 8;
export const RESET_PWM = 1 << 14;
export const RESET_TIMER = 1 << 21;
export const RESET_UART0 = 1 << 22;
export const RESET_USB = 1 << 24;
/** What the boot ROM has released when it hands over to the flash: the flash's pins (assumed). */
const BY_THE_ROM = (1 << 6) | (1 << 9);

const RESET = 0x0;
const WDSEL = 0x4;
const RESET_DONE = 0x8;

/** RESETS (datasheet 2.14): after power-up everything is held in reset until the firmware releases it. */
export class Resets extends Registers {
  /** Called when peripherals go into or out of reset, one bit each; they have lost their state. */
  onChange: (bits: number) => void = () => {};

  constructor(problems: Problems) {
    super('resets', problems, { [RESET]: ALL, [WDSEL]: ALL });
    this.reg[RESET] = ALL & ~BY_THE_ROM;
  }

  /** True while the peripheral at this base is held in reset. */
  holds(base: number): boolean {
    return (this.reg[RESET] & (BITS.get(base) ?? 0)) !== 0;
  }

  override readUint32(offset: number): number {
    return offset === RESET_DONE ? ALL & ~this.reg[RESET] : super.readUint32(offset);
  }

  override writeUint32(offset: number, value: number): void {
    const before = this.reg[RESET];
    super.writeUint32(offset, value);
    const changed = this.reg[RESET] ^ before;
    if (changed !== 0) this.onChange(changed);
  }
}

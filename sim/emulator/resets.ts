import { Registers } from './registers.js';

const ALL = 0x01ffffff;
/** Bit of each peripheral by its base (datasheet 2.14.3). */
const BITS: ReadonlyMap<number, number> = new Map([
  [0x4004c000, 0],
  [0x40030000, 1],
  [0x50000000, 2],
  [0x40044000, 3],
  [0x40048000, 4],
  [0x40014000, 5],
  [0x40018000, 6],
  [0x4001c000, 8],
  [0x40020000, 9],
  [0x50200000, 10],
  [0x50300000, 11],
  [0x40028000, 12],
  [0x4002c000, 13],
  [0x40050000, 14],
  [0x4005c000, 15],
  [0x4003c000, 16],
  [0x40040000, 17],
  [0x40004000, 18],
  [0x40000000, 19],
  [0x4006c000, 20],
  [0x40054000, 21],
  [0x40034000, 22],
  [0x40038000, 23],
  [0x50110000, 24],
]);
export const RESET_ADC = 1 << 0;
export const RESET_IO_BANK0 = 1 << 5;
export const RESET_PADS_BANK0 = 1 << 8;
export const RESET_PWM = 1 << 14;
export const RESET_TIMER = 1 << 21;
export const RESET_UART0 = 1 << 22;
/** What the boot ROM has taken out of reset when it gives control to the flash: the flash's pins (assumption). */
const BY_THE_ROM = (1 << 6) | (1 << 9);

/** Reset controller: after power-up everything is held in reset until the firmware lets it go. */
export class Resets extends Registers {
  /** Told when peripherals come to be held or are let go: they are as new. One bit each. */
  onChange: (bits: number) => void = () => {};
  private held = ALL & ~BY_THE_ROM;
  private by_watchdog = 0;

  /** True while the peripheral at this base is held in reset. */
  holds(base: number): boolean {
    const bit = BITS.get(base);
    return bit !== undefined && (this.held & (1 << bit)) !== 0;
  }

  override readUint32(offset: number): number {
    if (offset === 0) return this.held;
    if (offset === 4) return this.by_watchdog;
    return offset === 8 ? ALL & ~this.held : 0;
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === 0) {
      const changed = (value ^ this.held) & ALL;
      this.held = value & ALL;
      if (changed !== 0) this.onChange(changed);
    } else if (offset === 4) this.by_watchdog = value & ALL;
  }
}

/** What the bus calls; the shape that the peripherals of the emulator package have. Offsets within 4 KiB. */
export interface Peripheral {
  readUint32(offset: number): number;
  writeUint32(offset: number, value: number): void;
  /** @param alias 0 write, 1 exclusive or, 2 set, 3 clear (RP2040 datasheet 2.1.2) */
  writeUint32Atomic(offset: number, value: number, alias: number): void;
}

/** Registers of a peripheral of our own, with the RP2040's atomic aliases. */
export abstract class Registers implements Peripheral {
  /** What was written, before an alias changed it: registers that are cleared by writing ones want that. */
  protected raw = 0;

  abstract readUint32(offset: number): number;
  abstract writeUint32(offset: number, value: number): void;

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

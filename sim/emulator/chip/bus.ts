// The address map: what a read and a write reach and cost; apart from chip.ts, which puts the parts together.
import type { FlashChip } from './flash-chip.js';
import type { Problems } from './problems.js';
import type { Processor } from './processor.js';
import { FLASH_AT, type Peripheral, type Resets } from './registers.js';
import type { Ssi } from './ssi.js';
import type { SystemControl } from './system-control.js';
import type { Bus } from './thumb.js';

/** What every reset rebuilds. */
export interface Devices {
  /** By address >>> 14 << 2, as the emulator package numbers them. */
  readonly peripherals: Readonly<Record<number, Peripheral>>;
  readonly sio: { readUint32(offset: number): number; writeUint32(offset: number, value: number): void };
  readonly system: SystemControl;
  readonly resets: Resets;
  readonly ssi: Ssi;
}

/** Wait states of the peripheral bus for a read and a write, processor cycles (as the emulator package has them). */
const PERIPHERAL_READ = 3;
const PERIPHERAL_WRITE = 4;
/** What lies at 5… is nearer to the processor: no bridge between (datasheet 2.1.4; a cycle is assumed). */
const NEAR = 1;
const isNear = (address: number): boolean => address >>> 28 === 5;
/** The cache between flash and processor: 16 KiB in lines of eight bytes (datasheet 2.6.3; here direct-mapped). */
const CACHE_LINES = 2048;

/** The bus, a block of its own: everything but the memory, by address. An unmapped address is a fault. */
export class BoardBus implements Bus {
  processor!: Processor;
  devices!: Devices;
  /** A fetch from here ends the run: a function called from outside returns to it. */
  return_address = -1;
  onReturn: () => void = () => {};
  /** What lies from address 0; empty: nothing does. */
  rom: Uint8Array = new Uint8Array(0);
  private readonly cache = new Int32Array(CACHE_LINES).fill(-1);
  private readonly stale = new Uint8Array(CACHE_LINES);

  constructor(
    private readonly flash: FlashChip,
    private readonly problems: Problems,
  ) {}

  /** The firmware flushes the cache, or the chip has been reset. */
  flushCache(): void {
    this.cache.fill(-1);
    this.stale.fill(0);
  }

  /** The flash has changed behind the cache: the cached lines of it are stale from now on. */
  flashChanged(at: number, bytes: number): void {
    for (let line = at >>> 3; line < (at + bytes) >>> 3; line++) {
      if (this.cache[line % CACHE_LINES] === line) this.stale[line % CACHE_LINES] = 1;
    }
  }

  fetch(address: number): number {
    if (address === this.return_address) {
      this.onReturn();
      return 0xbf00;
    }
    if (address >= FLASH_AT && address < FLASH_AT + 0x1000000 && this.flashReadable(address)) {
      return this.flashRead(address, 2);
    }
    return address + 2 <= this.rom.length ? this.romRead(address, 2) : -1;
  }

  read(address: number, bytes: number): number {
    if (address >= FLASH_AT && address < FLASH_AT + 0x4000000) {
      return this.flashReadable(address) ? this.flashRead(address, bytes) : this.ones(bytes);
    }
    if (address + bytes <= this.rom.length) return this.romRead(address, bytes);
    const word = this.readWord(address);
    if (bytes === 4) return word;
    const shifted = word >>> (8 * (address & 3));
    return bytes === 2 ? shifted & 0xffff : shifted & 0xff;
  }

  write(address: number, bytes: number, value: number): void {
    const word = bytes === 4 ? value : bytes === 2 ? value * 0x10001 : value * 0x1010101;
    const top = address >>> 28;
    if (top === 4 || top === 5 || (address >= 0x14000000 && address < 0x20000000))
      this.writePeripheral(address, bytes, word);
    else if (top === 13) this.devices.sio.writeUint32(address & 0xfff, word);
    else if (address >>> 12 === 0xe000e) this.devices.system.write(address & 0xffc, word);
    else this.nothing(address, 'write');
  }

  private readWord(address: number): number {
    const top = address >>> 28;
    if (top === 4 || top === 5 || (address >= 0x14000000 && address < 0x20000000)) return this.readPeripheral(address);
    if (top === 13) return this.devices.sio.readUint32(address & 0xffc);
    if (address >>> 12 === 0xe000e) return this.devices.system.read(address & 0xffc);
    this.nothing(address, 'read');
    return 0;
  }

  private peripheral(address: number, use: string): Peripheral | undefined {
    const base = address & ~0x3fff;
    const found = this.devices.peripherals[(address >>> 14) << 2];
    if (found === undefined) this.nothing(address, use);
    else if (this.devices.resets.holds(base)) {
      this.problems.note('bus', `${use} of ${address.toString(16)}, which is held in reset`);
      return undefined;
    }
    return found;
  }

  private readPeripheral(address: number): number {
    this.processor.stall(isNear(address) ? NEAR : PERIPHERAL_READ);
    const peripheral = this.peripheral(address, 'read');
    return peripheral === undefined ? 0 : peripheral.readUint32(address & 0xffc);
  }

  private writePeripheral(address: number, bytes: number, value: number): void {
    this.processor.stall(isNear(address) ? NEAR : PERIPHERAL_WRITE);
    const alias = (address >>> 12) & 3;
    const found = this.peripheral(address, 'write');
    if (bytes < 4 && found?.writeNarrow !== undefined) found.writeNarrow(address & 0xfff, bytes, value);
    else found?.writeUint32Atomic(address & 0xffc, value >>> 0, alias);
  }

  /** Without wait states (data sheet 2.6.1). */
  private romRead(address: number, bytes: number): number {
    let value = 0;
    for (let n = bytes - 1; n >= 0; n--) value = value * 256 + this.rom[address + n];
    return value;
  }

  private flashReadable(address: number): boolean {
    const obstacle = this.devices.ssi.xip_obstacle;
    if (obstacle !== '') this.problems.note('flash', `read at ${address.toString(16)}: ${obstacle}`);
    return obstacle === '';
  }

  private flashRead(address: number, bytes: number): number {
    const { memory } = this.flash;
    const at = (address & 0xffffff) % memory.length;
    if ((address & 0x02000000) !== 0) this.processor.stall(this.devices.ssi.word_cycles);
    else this.throughCache(at >>> 3);
    let value = 0;
    for (let n = bytes - 1; n >= 0; n--) value = value * 256 + memory[at + n];
    return value;
  }

  private throughCache(line: number): void {
    const place = line % CACHE_LINES;
    if (this.cache[place] !== line) {
      this.cache[place] = line;
      this.stale[place] = 0;
      this.processor.stall(this.devices.ssi.line_cycles);
    } else if (this.stale[place] !== 0) {
      this.problems.note(
        'flash',
        `read at ${(8 * line).toString(16)} from a cache that was not flushed after a change`,
      );
    }
  }

  private ones(bytes: number): number {
    return bytes === 4 ? -1 : 2 ** (8 * bytes) - 1;
  }

  private nothing(address: number, use: string): void {
    this.problems.note('bus', `${use} of ${address.toString(16)}: there is nothing`);
    this.processor.fault();
  }
}

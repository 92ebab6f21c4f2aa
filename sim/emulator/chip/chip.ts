import type { RP2040 } from 'rp2040js';
import { boardNumber } from '../../../firmware/ports/rp2040/board-rows.js';
import { Random, StandoffError } from '../../base/index.js';
import { Converter } from './adc.js';
import { type RomStart, romStart } from './boot-rom.js';
import { BoardBus } from './bus.js';
import { type Alarm, BoardClock } from './clock.js';
import { FlashChip } from './flash-chip.js';
import type { Pins } from './pins.js';
import type { Problems } from './problems.js';
import { Processor } from './processor.js';
import {
  BOOT_BLOCK_RAM_AT,
  type Peripheral,
  RAM_AT,
  RESET_ADC,
  RESET_IO_BANK0,
  RESET_PADS_BANK0,
  RESET_PWM,
  RESET_TIMER,
  RESET_UART0,
  RESET_USB,
  Registers,
  Resets,
} from './registers.js';
import { IoQspi, Ssi } from './ssi.js';
import { SystemControl } from './system-control.js';
import { Crystal, Timer, Watchdog } from './timer.js';
import { Uart } from './uart.js';
import { UsbController } from './usb-controller.js';

const BLOCK = boardNumber('BOOT_BLOCK_BYTES');
const POLYNOMIAL = 0x04c11db7;

/** CRC-32 as the boot ROM computes it: most significant bit first, from all ones, not inverted (datasheet 2.8.1.3.1). */
function bootCrc(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = (crc << 1) ^ (crc < 0 ? POLYNOMIAL : 0);
  }
  return crc >>> 0;
}

/** The boot block at the start of this flash, or undefined when the ROM would not run it. */
function bootBlock(flash: Uint8Array): Uint8Array | undefined {
  const block = flash.slice(0, BLOCK);
  const expected = new DataView(block.buffer).getUint32(BLOCK - 4, true);
  return bootCrc(block.subarray(0, BLOCK - 4)) === expected ? block : undefined;
}

/** Ring oscillator that the chip starts with, Hz (nominal; datasheet 2.17). */
const START_HZ = 6_500_000;
/** Time that the boot ROM takes to read and check the boot block (assumed). */
const ROM_ns = 3e6;
/** It reads this often, for some 0.4 s, then it waits on USB for good (its source, from memory). */
const ROM_TRIES = 128;
/** Power-on parts that a watchdog reset must reach: clocks, resets, GPIO, processor 0 (datasheet 2.13.5). */
const RESET_PARTS = (1 << 2) | (1 << 3) | (1 << 14) | (1 << 15);
const PSM_WDSEL = 8;
/** The package's number of a peripheral: its address without the lower 12 bits. */
const SYSTEM_INFO = 0x40000;
const FUNCTION_UART = 2;
const FUNCTION_PWM = 4;

/** The part of the emulator package that is used. It is loaded only when a board is created. */
export interface EmulatorPackage {
  readonly RP2040: typeof RP2040;
}

/** @throws StandoffError emulator-missing */
export async function loadEmulatorPackage(): Promise<EmulatorPackage> {
  const { RP2040 } = await import('rp2040js').catch(() => {
    throw new StandoffError(
      'emulator-missing',
      'the emulated board needs the package rp2040js, which is not installed',
      'install it: npm install rp2040js',
    );
  });
  return { RP2040: chipWithoutFlash(RP2040) };
}

/** The package erases 16 MiB of a flash of its own with each reset, a third of the time of a power-up; the board has another. */
const chipWithoutFlash = (Package: typeof RP2040): typeof RP2040 =>
  class extends Package {
    override reset(): void {
      this.core.reset();
      this.pwm.reset();
    }
  };

const XIP_CTRL = 0x0;
const XIP_FLUSH = 0x4;
const XIP_STAT = 0x8;
/** STAT: the flush is over. */
const FLUSH_READY = 2;

/** XIP_CTRL (datasheet 2.6.3): the cache and its flush. */
class XipControl extends Registers {
  constructor(
    private readonly bus: BoardBus,
    problems: Problems,
  ) {
    super('XIP', problems, { [XIP_CTRL]: 0xffffffff, [XIP_FLUSH]: 0 });
    this.reg[XIP_CTRL] = 3;
  }

  override readUint32(offset: number): number {
    return offset === XIP_STAT ? FLUSH_READY : super.readUint32(offset);
  }

  override writeUint32(offset: number, value: number): void {
    super.writeUint32(offset, value);
    if (offset === XIP_FLUSH) this.bus.flushCache();
  }
}

/** Maker 927, part 2, revision 2: a chip of revision B2. Those of B0 and B1 say revision 1 (the chip maker's published library). */
const CHIP_ID = 0x20002927;

/** SYSINFO (datasheet 2.20): what the chip is. The package's own says B0 or B1. */
class SystemInfo extends Registers {
  constructor(problems: Problems, chip_id: number) {
    super('system info', problems, { 0: 0 });
    this.reg[0] = chip_id;
  }
}

/**
 * The RP2040 with its flash chip. Pins, pads, PWM, DMA, clocks and single-cycle I/O are the emulator package's;
 * processor, interrupt controller, timer, watchdog, UART, USB, converter, resets and the way to the flash are our own,
 * because the package leaves out faults, exception times, line speed, queues and the flash chip.
 */
export class Chip {
  readonly clock = new BoardClock();
  readonly flash: FlashChip;
  readonly bus: BoardBus;
  readonly processor: Processor;
  readonly watchdog: Watchdog;
  readonly crystal: Crystal;
  uart!: Uart;
  usb!: UsbController;
  converter!: Converter;
  /** The boot ROM, as modelled, found nothing to run: it waits for a host on USB. */
  rom_waits = false;
  /** Counts from the next reset on. */
  chip_id = CHIP_ID;
  /** Resets since the chip was made, the first power-up not counted. */
  resets = 0;
  /** Called when everything is rebuilt after a reset, before the boot ROM ends. */
  onReset: () => void = () => {};

  private package_chip!: RP2040;
  private reset_wanted = false;
  private readonly rom: Alarm;
  private rom_tries = 0;
  private readonly rom_start: RomStart | undefined;

  constructor(
    private readonly emulator: EmulatorPackage,
    memory: Uint8Array,
    private readonly pins: Pins,
    private readonly problems: Problems,
    boot_rom?: Uint8Array,
  ) {
    this.rom_start = boot_rom && romStart(boot_rom);
    this.flash = new FlashChip(memory, () => this.clock.nanos);
    this.bus = new BoardBus(this.flash, problems);
    if (boot_rom) this.bus.rom = boot_rom;
    this.processor = new Processor(this.bus);
    this.bus.processor = this.processor;
    this.clock.cycles = () => this.processor.cycles;
    this.clock.onChange = () => this.processor.attend();
    this.watchdog = new Watchdog(this.clock, problems, () => this.package_chip.clocks.refFreq);
    this.watchdog.onReset = () => this.wantReset();
    this.crystal = new Crystal(this.clock, problems);
    this.rom = this.clock.createAlarm(() => this.leaveRom());
    this.flash.onChange = (at, bytes) => this.bus.flashChanged(at, bytes);
    this.flash.onMisuse = (what) => problems.note('flash chip', what);
    this.processor.onFault = (address) => problems.note('processor', `fault at ${address.toString(16)}`);
  }

  /** Power comes on: memory holds noise, the watchdog remembers nothing. */
  powerUp(seed: number): void {
    const random = new Random(seed);
    const words = new Int32Array(this.processor.memory.buffer);
    for (let n = 0; n < words.length; n++) words[n] = random.next_u32();
    this.flash.powerUp();
    this.crystal.powerUp();
    this.build();
    this.watchdog.restart(true);
  }

  /** The reset pin: memory and flash chip go on as they are, the watchdog forgets all (4.7), the crystal starts again. */
  resetByPin(): void {
    this.crystal.powerUp();
    this.build();
    this.watchdog.restart(true);
  }

  /** Runs until this time, or until something outside needs attention. */
  step(until_ns: number): void {
    const { clock, processor } = this;
    processor.runUntil(clock.cycleAt(Math.min(until_ns, clock.next_ns)));
    clock.fire();
    if (this.reset_wanted) this.resetByWatchdog();
  }

  private wantReset(): void {
    this.reset_wanted = true;
    this.processor.attend();
  }

  private resetByWatchdog(): void {
    this.reset_wanted = false;
    const parts = this.package_chip.peripherals[0x40010].readUint32(PSM_WDSEL);
    if ((parts & RESET_PARTS) !== RESET_PARTS) {
      this.problems.note('watchdog', `fired, but PSM_WDSEL ${parts.toString(16)} does not select the chip`);
      return;
    }
    this.resets++;
    this.build();
    this.watchdog.restart(false);
  }

  /** The chip as after a reset, around the same memory, flash and watchdog. */
  private build(): void {
    const { clock, processor, problems, watchdog } = this;
    clock.clear();
    clock.setFrequency(START_HZ);
    const chip = new this.emulator.RP2040(clock);
    this.package_chip = chip;
    const setInterrupt = (irq: number, on: boolean): void => processor.setInterrupt(irq, on);
    Object.assign(chip, {
      logger: problems.logger,
      flash: this.flash.memory,
      flashView: new DataView(this.flash.memory.buffer),
      sram: processor.memory,
      sramView: new DataView(processor.memory.buffer),
      core: { cycles: 0, setInterrupt },
      clkSys: START_HZ,
    });
    chip.addClockListener((hz) => clock.setFrequency(hz));
    const ssi = new Ssi(this.flash, clock, problems, () => 1e9 / chip.clkSys);
    const resets = new Resets(problems);
    const timer = new Timer(clock, problems, setInterrupt, () => watchdog.ticks_right);
    const system = new SystemControl(processor, clock, problems);
    this.uart = new Uart(clock, problems, setInterrupt, () => this.uartClock(chip));
    this.usb = new UsbController(clock, problems, () => this.usbClock(chip));
    this.converter = new Converter(clock, problems, setInterrupt, chip.dma, () => (chip.clocks.adcCtrl & 0x800) !== 0);
    Object.assign(chip.peripherals, {
      [SYSTEM_INFO]: new SystemInfo(problems, this.chip_id),
      81920: new XipControl(this.bus, problems),
      98304: ssi,
      262156: resets,
      262168: new IoQspi(ssi, problems),
      262180: this.crystal,
      262196: this.uart,
      262220: this.converter,
      262228: timer,
      262232: watchdog,
      327936: this.usb.ports,
      327952: this.usb,
    } satisfies Record<number, Peripheral>);
    resets.onChange = (bits) => this.renew(chip, timer, bits);
    this.bus.devices = { peripherals: chip.peripherals, sio: chip.sio, system, resets, ssi };
    this.bus.flushCache();
    this.connectPwm(chip);
    this.pins.attach(chip);
    processor.reset(this.rom_start?.entry ?? 0, this.rom_start?.stack ?? 0);
    processor.waiting = this.rom_start === undefined;
    this.rom_waits = false;
    this.rom_tries = 0;
    if (this.rom_start === undefined) this.rom.schedule(ROM_ns);
    this.onReset();
  }

  /** Peripherals that were put into reset or let go. */
  private renew(chip: RP2040, timer: Timer, bits: number): void {
    if ((bits & RESET_UART0) !== 0) this.uart.reset();
    if ((bits & RESET_USB) !== 0) this.usb.reset();
    if ((bits & RESET_ADC) !== 0) this.converter.reset();
    if ((bits & RESET_TIMER) !== 0) timer.reset();
    if ((bits & RESET_PWM) !== 0) chip.pwm.reset();
    if ((bits & RESET_IO_BANK0) !== 0) this.pins.loseFunctions();
    if ((bits & RESET_PADS_BANK0) !== 0) this.pins.losePads();
  }

  /** The UART is on the line only while its pins have its function. */
  private uartClock(chip: RP2040): number {
    const on_pins = chip.gpio[0].functionSelect === FUNCTION_UART && chip.gpio[1].functionSelect === FUNCTION_UART;
    return on_pins ? chip.clocks.periFreq : 0;
  }

  /** Source 0 is the PLL for USB (datasheet 2.15.3.1). */
  private usbClock({ clocks, pllUsb }: RP2040): number {
    const on = (clocks.usbCtrl & 0xfe0) === 0x800 && clocks.usbDiv === 0x100;
    return on ? pllUsb.frequency : 0;
  }

  /**
   * The package counts an edge only while no slice drives any pin, and takes the second pin of a slice for its input
   * whatever that pin's function is. Silicon listens to the pins that have the function, and to a slice's direction.
   */
  private connectPwm(chip: RP2040): void {
    const { pwm, gpio } = chip;
    pwm.gpioRead = (index) => gpio[index].functionSelect === FUNCTION_PWM && gpio[index].inputValue;
    pwm.gpioOnInput = (index) => {
      if ((index & 1) === 1) pwm.channels[(index >> 1) & 7].gpioBChanged();
    };
  }

  private leaveRom(): void {
    const { processor } = this;
    // A chip that is busy answers nothing.
    const block = this.flash.busy ? undefined : bootBlock(this.flash.memory);
    if (block === undefined) {
      this.rom_waits = ++this.rom_tries === ROM_TRIES;
      if (!this.rom_waits) this.rom.schedule(ROM_ns);
      return;
    }
    processor.memory.set(block, BOOT_BLOCK_RAM_AT - RAM_AT);
    processor.reset(BOOT_BLOCK_RAM_AT, BOOT_BLOCK_RAM_AT);
    processor.r[14] = 0;
  }
}

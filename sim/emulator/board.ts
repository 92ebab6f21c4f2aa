import { boardNumber } from '../../firmware/ports/rp2040/board-rows.js';
import { layoutRow, placed } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import { crc32 } from '../link/index.js';
import {
  Chip,
  type FlashTimes,
  loadEmulatorPackage,
  PEND_SV,
  Pins,
  Problems,
  REAL_TIMES,
  Recorder,
} from './chip/index.js';
import { UsbHost } from './usb/host.js';

const PAGE = boardNumber('PAGE_BYTES');
const SLOT_BYTES = boardNumber('SLOT_BYTES');
const SLOTS = [boardNumber('SLOT_0_AT'), boardNumber('SLOT_1_AT')] as const;
const HEAD = placed(layoutRow('image_head')).fields;
const offset = (name: string): number => HEAD.find((field) => field.name === name)!.offset;

/**
 * Writes an image into a slot of the flash with this generation, as the loader leaves it after an update.
 * @throws StandoffError `image-size`
 */
export function installImage(flash: Uint8Array, image: Uint8Array, slot: 0 | 1, generation: number): void {
  if (image.length <= PAGE || image.length > SLOT_BYTES) {
    throw new StandoffError(
      'image-size',
      `the image has ${image.length} bytes, a slot takes ${PAGE + 1} to ${SLOT_BYTES}`,
      'give an image file for this board',
    );
  }
  const whole = Uint8Array.from(image); // a slice of a Buffer would be the Buffer itself
  const view = new DataView(whole.buffer);
  view.setUint32(offset('generation'), generation, true);
  view.setUint32(offset('head_crc'), crc32(whole.subarray(0, offset('head_crc'))), true);
  flash.fill(0xff, SLOTS[slot], SLOTS[slot] + SLOT_BYTES);
  flash.set(whole, SLOTS[slot]);
}

/** A field of an image's head. */
export function headField(image: Uint8Array, name: string): number {
  return new DataView(image.buffer, image.byteOffset).getUint32(offset(name), true);
}

const FLASH_BYTES = boardNumber('FLASH_BYTES');
const LOADER_BYTES = boardNumber('LOADER_BYTES');
/** Times are sums of fractions: a time closer than this has come. */
const ROUNDING_ns = 1e-3;

/** What is in the board’s flash, and how the board is made. */
export interface BoardOptions {
  /** The chip's first bytes: boot block and loader. */
  readonly loader?: Uint8Array;
  /** An image as shipped: head page and body. It is installed in slot 0, as the first installation does. */
  readonly image?: Uint8Array;
  /** The whole contents of the chip, instead of loader and image. */
  readonly flash?: Uint8Array;
  /** A boot ROM that was read out of a chip, run in place of the model. */
  readonly boot_rom?: Uint8Array | undefined;
  /** How long the flash chip takes; default: as long as a real one. */
  readonly times?: FlashTimes;
}

/** Length of the last and the longest tick, ns, measured at the processor: from entry to return of PendSV. */
interface TickTimes {
  last_ns: number;
  worst_ns: number;
  /** Less the interrupts that it was stopped for. */
  worst_own_ns: number;
  count: number;
  /** Entry into the last one, ns since power-up. */
  entered_ns: number;
}

/**
 * The box on the desk: the shipped code on an emulated RP2040. It knows pins and a serial line, and nothing of
 * what is behind them. Everything happens in emulated time, which passes only in `run`, `runTo` and `runUntil`.
 */
export class EmulatedBoard {
  readonly problems = new Problems();
  readonly recorder = new Recorder();
  readonly pins = new Pins(this.recorder);
  readonly chip: Chip;
  /** The PC at the board's USB socket; its cable is out at first. */
  readonly usb: UsbHost;
  readonly tick: TickTimes = { last_ns: 0, worst_ns: 0, worst_own_ns: 0, count: 0, entered_ns: 0 };
  /** Bytes that the board sends on its serial line. */
  onByte: (byte: number) => void = () => {};
  /** The board has no power. */
  dead = false;

  private stop = false;
  private seed = 1;
  private interruption_ns = 0;
  private interrupted_at_ns = -1;

  /**
   * @throws StandoffError emulator-missing, flash-size, image-size, rom-size, rom-form
   */
  static async create(options: BoardOptions): Promise<EmulatedBoard> {
    const emulator = await loadEmulatorPackage();
    const memory = new Uint8Array(FLASH_BYTES).fill(0xff);
    store(memory, options.flash, FLASH_BYTES, 'contents of the flash');
    store(memory, options.loader, LOADER_BYTES, 'loader');
    if (options.image !== undefined) installImage(memory, options.image, 0, 1);
    return new EmulatedBoard(emulator, memory, options);
  }

  private constructor(
    emulator: Awaited<ReturnType<typeof loadEmulatorPackage>>,
    memory: Uint8Array,
    { times = REAL_TIMES, boot_rom }: BoardOptions,
  ) {
    this.chip = new Chip(emulator, memory, this.pins, this.problems, boot_rom);
    const { chip } = this;
    this.usb = new UsbHost(chip.clock, this.problems);
    this.problems.now_ns = () => chip.clock.nanos;
    this.recorder.now_ns = () => chip.clock.nanos;
    chip.flash.times = times;
    chip.flash.onPowerCut = () => this.powerCut();
    chip.onReset = () => this.connect();
    chip.processor.onEntry = (exception) => this.enter(exception);
    chip.processor.onReturn = (exception) => this.leave(exception);
    this.powerUp();
  }

  get flash(): Uint8Array {
    return this.chip.flash.memory;
  }

  /** Emulated time since the first power-up, ns. */
  get now_ns(): number {
    return this.chip.clock.nanos;
  }

  /** Processor cycles since the first power-up. */
  get cycles(): number {
    return this.chip.processor.cycles;
  }

  /** Converter counts by channel, 0 the arc voltage, 1 the reference. */
  set sample(sample: (channel: number) => number) {
    this.converter_sample = sample;
    this.chip.converter.sample = sample;
  }
  private converter_sample: (channel: number) => number = (channel) => (channel === 1 ? 2048 : 0);

  /** Power goes off: outputs fall to rest, memory is lost, an operation of the flash stops halfway. */
  powerCut(): void {
    this.dead = true;
    this.usb.connect(undefined);
    this.pins.rest();
    this.stopRun();
  }

  /** Power comes on, after a power cut or without one. */
  powerUp(): void {
    this.dead = false;
    this.chip.powerUp(this.seed++);
  }

  /** Somebody presses the board's reset. */
  pressReset(): void {
    this.usb.connect(undefined);
    this.chip.resetByPin();
  }

  /** Bytes towards the board, at the speed of its line. */
  send(bytes: Uint8Array): void {
    this.chip.uart.feed(bytes);
  }

  /** Ends the current run after this instruction. */
  stopRun(): void {
    this.stop = true;
    this.chip.processor.attend();
  }

  /** @returns false when something ended it early: a power cut, `stopRun` */
  run(duration_ns: number): boolean {
    return this.runTo(this.now_ns + duration_ns);
  }

  runTo(until_ns: number): boolean {
    this.stop = false;
    while (!this.stop && until_ns - this.now_ns > ROUNDING_ns && !this.dead) this.chip.step(until_ns);
    return !this.stop;
  }

  /** Runs until the condition holds; it is checked every 10 µs. @returns whether it held within that time */
  runUntil(condition: () => boolean, most_ns: number): boolean {
    const end_ns = this.now_ns + most_ns;
    while (!condition()) {
      if (this.dead || end_ns - this.now_ns <= ROUNDING_ns) return false;
      this.runTo(Math.min(end_ns, this.now_ns + 10_000));
    }
    return true;
  }

  private connect(): void {
    this.chip.uart.onByte = (byte) => this.onByte(byte);
    this.usb.connect(this.chip.usb);
    this.chip.converter.sample = this.converter_sample;
  }

  private enter(exception: number): void {
    const { tick } = this;
    if (exception === PEND_SV) {
      tick.entered_ns = this.now_ns;
      tick.count++;
      this.interruption_ns = 0;
    } else if (this.interrupted_at_ns < 0) this.interrupted_at_ns = this.now_ns;
  }

  private leave(exception: number): void {
    const { tick } = this;
    if (exception === PEND_SV) {
      tick.last_ns = this.now_ns - tick.entered_ns;
      tick.worst_ns = Math.max(tick.worst_ns, tick.last_ns);
      tick.worst_own_ns = Math.max(tick.worst_own_ns, tick.last_ns - this.interruption_ns);
    } else if (this.interrupted_at_ns >= 0) {
      this.interruption_ns += this.now_ns - this.interrupted_at_ns;
      this.interrupted_at_ns = -1;
    }
  }
}

function store(memory: Uint8Array, bytes: Uint8Array | undefined, most: number, what: string): void {
  if (bytes === undefined) return;
  if (bytes.length > most) {
    throw new StandoffError(
      'flash-size',
      `${what}: ${bytes.length} bytes, at most ${most}`,
      'give a file for this board',
    );
  }
  memory.set(bytes);
}

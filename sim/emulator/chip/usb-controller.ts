/** The chip's USB controller as a device, with its dual-port memory: one peripheral, one file. */
import type { BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { type Kept, type Peripheral, Registers } from './registers.js';

const ADDRESS = 0x00;
const MAIN_CTRL = 0x40;
const SOF_RD = 0x48;
const SIE_CTRL = 0x4c;
const SIE_STATUS = 0x50;
const BUFF_STATUS = 0x58;
const STALL_ARM = 0x68;
const MUXING = 0x74;
const POWER = 0x78;
const KEPT: Kept = {
  ...{ [ADDRESS]: 0x7f, [MAIN_CTRL]: 3, [SIE_CTRL]: (1 << 16) | (1 << 29), [STALL_ARM]: 3, [MUXING]: 9, [POWER]: 12 },
};
/** SIE_STATUS: what happened, cleared by writing ones; and what is. */
const DATA_SEQUENCE_ERROR = 0x80000000;
const BUS_RESET = 1 << 19;
const TRANSFER_COMPLETE = 1 << 18;
const SETUP = 1 << 17;
const CONNECTED = 1 << 16;
const SUSPENDED = 1 << 4;
const VBUS = 1;
/** SIE_CTRL */
const PULL_UP = 1 << 16;
const STATUS_OF_EP0 = 1 << 29;

/** A word of the memory that controls a buffer (4.1.2.5.3). */
const FULL = 1 << 15;
const LAST = 1 << 14;
const DATA1 = 1 << 13;
const STALL = 1 << 11;
const AVAILABLE = 1 << 10;
const LENGTH = 0x3ff;
const BUFFER_BITS = FULL | LAST | DATA1 | STALL | AVAILABLE | LENGTH;
/** A word of the memory that controls an end of an endpoint (4.1.2.5.2). */
const ENABLED = 0x80000000;
const DOUBLE_BUFFERED = 0x40000000;
const STATUS_A_BUFFER = 0x20000000;

const ENDS_AT = 0x08;
const BUFFERS_AT = 0x80;
const EP0_AT = 0x100;
const CHOSEN_AT = 0x180;
const MEMORY_BYTES = 0x1000;
const BLOCK = 64;
/** Two periods of the controller's 48 MHz: then it has seen what was written before AVAILABLE. */
const SEEN_ns = 2e9 / 48e6;
const USB_HZ = 48e6;
/** Idle bus for this long means suspended (USB 2.0, 7.1.7.6). */
const SUSPEND_ns = 3e6;

/** What a device answers to a token: `none` is silence. */
export type UsbReply =
  | { readonly kind: 'none' | 'ack' | 'nak' | 'stall' }
  | { readonly kind: 'data'; readonly odd: boolean; readonly bytes: Uint8Array };

const reply = (kind: 'none' | 'ack' | 'nak' | 'stall'): UsbReply => ({ kind });

/**
 * The device side of USBCTRL (datasheet 4.1, pico-sdk's register headers), strict where silicon would only sometimes fail:
 * AVAILABLE is set alone and after the rest was seen, nobody touches a buffer that the controller has, a packet fits, and
 * nothing works without 48 MHz. What a mismatched data toggle does is USB 2.0's 8.6.4: acknowledged and dropped. Tokens
 * come from `UsbHost`; a transaction happens at one moment. Double buffering, isochronous transfers and interrupts are not known.
 */
export class UsbController extends Registers {
  /** The device has appeared on the bus, or gone. */
  onAttach: (attached: boolean) => void = () => {};
  /** The dual-port memory as the processor's bus sees it. */
  readonly ports: Peripheral & { writeNarrow(offset: number, bytes: number, value: number): void };

  private readonly memory = new Uint8Array(MEMORY_BYTES);
  private readonly words = new DataView(this.memory.buffer);
  private readonly written_ns = new Float64Array(32);
  private status = 0;
  private done = 0;
  private frame = 0;
  private busy_ns: number;
  private was_attached = false;
  private may_withdraw = false;
  private in_reset = true;

  constructor(
    private readonly clock: BoardClock,
    problems: Problems,
    private readonly usb_Hz: () => number,
  ) {
    super('USB', problems, KEPT);
    this.busy_ns = clock.nanos;
    this.ports = {
      readUint32: (offset) => this.readMemory(offset),
      writeUint32: (offset, value) => this.writeMemory(offset, value),
      writeUint32Atomic: (offset, value, alias) => {
        if (alias !== 0) this.note('the memory has no set and clear addresses');
        this.writeMemory(offset, value);
      },
      writeNarrow: (offset, bytes, value) => this.narrow(offset, bytes, value),
    };
  }

  /** Held in reset, or let go: everything but the memory's contents is lost. */
  reset(): void {
    this.reg.fill(0);
    this.status = this.done = 0;
    this.in_reset = true;
    this.tell();
  }

  /** The pull-up is on, and everything that it takes for the controller to hear the bus. */
  get attached(): boolean {
    const on = (this.reg[MAIN_CTRL] & 3) === 1 && this.reg[MUXING] === 9 && this.reg[POWER] === 12;
    return on && (this.reg[SIE_CTRL] & PULL_UP) !== 0 && this.usb_Hz() === USB_HZ;
  }

  override readUint32(offset: number): number {
    switch (offset) {
      case SIE_STATUS:
        return (this.status | this.state) >>> 0;
      case BUFF_STATUS:
        return this.done >>> 0;
      case SOF_RD:
        return this.frame;
      default:
        return super.readUint32(offset);
    }
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === SIE_STATUS) this.status &= ~this.raw;
    else if (offset === BUFF_STATUS) this.done &= ~this.raw;
    else super.writeUint32(offset, value);
    if (offset === SIE_STATUS && (this.raw & BUS_RESET) !== 0) this.may_withdraw = true;
    if (offset === SIE_CTRL && (value & PULL_UP) !== 0 && !this.attached) {
      this.note('the pull-up is on, but clock, controller, power sense or pins are not ready');
    }
    this.tell();
  }

  /** The bus was held at reset. */
  busReset(): void {
    this.status |= BUS_RESET;
    this.in_reset = false;
    this.may_withdraw = true;
    this.busy_ns = this.clock.nanos;
  }

  startOfFrame(frame: number): void {
    this.frame = frame;
    this.busy_ns = this.clock.nanos;
  }

  /** A SETUP for endpoint 0: always taken, and it ends any stall there (4.1.2.6.1). */
  setup(address: number, packet: Uint8Array): UsbReply {
    if (!this.hears(address)) return reply('none');
    if ((this.status & SETUP) !== 0) this.note('a SETUP came before the last one was looked at');
    this.memory.set(packet);
    this.status |= SETUP;
    this.reg[STALL_ARM] = 0;
    this.may_withdraw = true;
    return reply('ack');
  }

  /** An OUT token with its packet (4.1.2.6.3). */
  out(address: number, endpoint: number, odd: boolean, packet: Uint8Array): UsbReply {
    const at = BUFFERS_AT + 8 * endpoint + 4;
    if (!this.hears(address) || !this.enabled(endpoint, 4)) return reply('none');
    const control = this.words.getUint32(at, true);
    if ((control & AVAILABLE) === 0 || (control & FULL) !== 0) return reply('nak');
    if ((control & STALL) !== 0) return reply('stall');
    if (((control & DATA1) !== 0) !== odd) {
      this.status |= DATA_SEQUENCE_ERROR;
      return reply('ack');
    }
    if (packet.length > (control & LENGTH)) {
      this.note(`a packet of ${packet.length} bytes for a buffer of ${control & LENGTH}`);
      return reply('none');
    }
    this.memory.set(packet, this.bufferAt(endpoint, 4));
    this.finish(endpoint, 4, (control & DATA1) | FULL | packet.length);
    if (endpoint === 0 && packet.length === 0) this.may_withdraw = false;
    return reply('ack');
  }

  /** An IN token (4.1.2.6.2). What is sent stays until `acknowledged`. */
  in(address: number, endpoint: number): UsbReply {
    if (!this.hears(address) || !this.enabled(endpoint, 0)) return reply('none');
    const control = this.words.getUint32(BUFFERS_AT + 8 * endpoint, true);
    if ((control & STALL) !== 0 && (endpoint > 0 || (this.reg[STALL_ARM] & 1) !== 0)) return reply('stall');
    if ((control & AVAILABLE) === 0 || (control & FULL) === 0) return reply('nak');
    const from = this.bufferAt(endpoint, 0);
    return { kind: 'data', odd: (control & DATA1) !== 0, bytes: this.memory.slice(from, from + (control & LENGTH)) };
  }

  /** The host has acknowledged what `in` sent. */
  acknowledged(endpoint: number): void {
    const control = this.words.getUint32(BUFFERS_AT + 8 * endpoint, true);
    this.finish(endpoint, 0, control & (DATA1 | LENGTH));
    if (endpoint === 0 && (control & LENGTH) === 0) this.may_withdraw = false;
  }

  private note(what: string): void {
    this.problems.note('USB', what);
  }

  private tell(): void {
    const { attached } = this;
    if (attached === this.was_attached) return;
    this.was_attached = attached;
    this.busy_ns = this.clock.nanos;
    this.onAttach(attached);
  }

  private get state(): number {
    const idle = this.attached && this.clock.nanos - this.busy_ns >= SUSPEND_ns;
    return (this.reg[POWER] === 12 ? VBUS : 0) | (this.in_reset ? 0 : CONNECTED) | (idle ? SUSPENDED : 0);
  }

  private hears(address: number): boolean {
    this.busy_ns = this.clock.nanos;
    return this.attached && this.reg[ADDRESS] === address;
  }

  /** @param side 0 to the host, 4 from it */
  private enabled(endpoint: number, side: 0 | 4): boolean {
    if (endpoint === 0) return true;
    const control = this.words.getUint32(ENDS_AT + 8 * (endpoint - 1) + side, true);
    if ((control & DOUBLE_BUFFERED) !== 0) this.note('double buffering is not known');
    return (control & ENABLED) !== 0;
  }

  private bufferAt(endpoint: number, side: 0 | 4): number {
    if (endpoint === 0) return EP0_AT;
    return this.words.getUint32(ENDS_AT + 8 * (endpoint - 1) + side, true) & 0xffc0;
  }

  private finish(endpoint: number, side: 0 | 4, control: number): void {
    const before = this.words.getUint32(BUFFERS_AT + 8 * endpoint + side, true);
    this.words.setUint32(BUFFERS_AT + 8 * endpoint + side, control, true);
    if ((before & LAST) !== 0) this.status |= TRANSFER_COMPLETE;
    const told =
      endpoint === 0
        ? (this.reg[SIE_CTRL] & STATUS_OF_EP0) !== 0
        : (this.words.getUint32(ENDS_AT + 8 * (endpoint - 1) + side, true) & STATUS_A_BUFFER) !== 0;
    if (told) this.done |= 1 << (2 * endpoint + (side === 0 ? 0 : 1));
  }

  /** The buffer that the controller has and this place lies in. */
  private held(offset: number): boolean {
    if (offset < EP0_AT) return false;
    for (let endpoint = 0; endpoint < 16; endpoint++) {
      for (const side of [0, 4] as const) {
        const control = this.words.getUint32(BUFFERS_AT + 8 * endpoint + side, true);
        if ((control & AVAILABLE) === 0) continue;
        // Endpoint 0 has one buffer for both ends: what waits for an empty packet is not in the way of the other.
        if (endpoint === 0 && side === 4) continue;
        const from = this.bufferAt(endpoint, side);
        if (offset >= from && offset < from + BLOCK) return true;
      }
    }
    return false;
  }

  private readMemory(offset: number): number {
    if (this.held(offset)) this.note(`read of ${offset.toString(16)}, in a buffer that the controller has`);
    return this.words.getUint32(offset & ~3, true);
  }

  private narrow(offset: number, bytes: number, value: number): void {
    if (offset < EP0_AT) this.note(`a word of control at ${offset.toString(16)} is written by halves`);
    if (this.held(offset)) this.note(`write to ${offset.toString(16)}, in a buffer that the controller has`);
    for (let n = 0; n < bytes; n++) this.memory[offset + n] = value >>> (8 * n);
  }

  private writeMemory(offset: number, value: number): void {
    if (offset >= BUFFERS_AT && offset < EP0_AT) this.control(offset, value >>> 0);
    else if (offset >= ENDS_AT && offset < BUFFERS_AT) this.end(value >>> 0);
    else if (this.held(offset)) this.note(`write to ${offset.toString(16)}, in a buffer that the controller has`);
    this.words.setUint32(offset, value, true);
  }

  private end(value: number): void {
    const at = value & 0xffff;
    if ((value & ENABLED) !== 0 && (at % BLOCK !== 0 || at < CHOSEN_AT || at + BLOCK > MEMORY_BYTES)) {
      this.note(`an endpoint with its buffer at ${at.toString(16)}`);
    }
  }

  private control(offset: number, value: number): void {
    const before = this.words.getUint32(offset, true);
    const place = (offset - BUFFERS_AT) / 4;
    if ((value & ~BUFFER_BITS) !== 0) this.note(`a buffer control of ${value.toString(16)}`);
    if ((before & AVAILABLE) !== 0) {
      const withdrawn = (value & AVAILABLE) === 0 && (place < 2 || this.may_withdraw);
      if (!withdrawn && value !== before)
        this.note(`buffer control ${offset.toString(16)} changed while it is available`);
    } else if ((value & AVAILABLE) !== 0) {
      if (((value ^ before) & ~AVAILABLE) !== 0) this.note('AVAILABLE written together with the rest');
      else if (this.clock.nanos - this.written_ns[place] < SEEN_ns)
        this.note('AVAILABLE written too soon after the rest');
      if ((value & LENGTH) > BLOCK) this.note(`a packet of ${value & LENGTH} bytes`);
    }
    this.written_ns[place] = this.clock.nanos;
  }
}

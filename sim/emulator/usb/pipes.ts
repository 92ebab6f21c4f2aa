/** The ends of a PC's pipes to a device: each does one transaction at a time, and says when it wants the bus again. */
import type { UsbController, UsbReply } from '../chip/index.js';

/** A request over endpoint 0: with `data` to the device, otherwise for at most `length` bytes from it. */
export interface ControlRequest {
  readonly type: number;
  readonly request: number;
  readonly value: number;
  readonly index: number;
  readonly length?: number;
  readonly data?: Uint8Array;
  /** The PC has seen enough: it resets the bus instead of ending the transfer. */
  readonly broken_off?: boolean;
}

/** What the bus gives its pipes. */
export interface BusTime {
  now_ns(): number;
  device(): UsbController | undefined;
  address(): number;
  readonly counts: { packets: number; naks: number; repeats: number };
  nak_wait_ns(): number;
  /** The handshake of this transaction is lost. */
  lost(): boolean;
  note(what: string): void;
}

const PACKET = 64;
const NEVER = Number.POSITIVE_INFINITY;
const BIT_ns = 1e9 / 12e6;
/** Bits of a token, of a packet around its bytes, of a handshake, and of two turns of the bus (USB 2.0, 8.3, 7.1.18). */
const TOKEN = 35;
const AROUND = 35;
const HANDSHAKE = 19;
const TURNS = 16;
const takes_ns = (bytes: number): number => (TOKEN + AROUND + 8 * bytes + HANDSHAKE + TURNS) * BIT_ns;

const SILENCE: UsbReply = { kind: 'none' };
/** Transactions without any answer in a row, after which a PC gives up (USB 2.0, 8.6.2). */
const TRIES = 3;

export interface Pipe {
  /** When it wants the bus; infinity while it has nothing to do. */
  readonly ready_ns: number;
  /** Does one transaction. @returns its time on the bus, ns */
  go(): number;
  /** The device has gone, or begins again. */
  stop(): void;
}

/** Two packets with the same toggle are the same packet; without a lost handshake there is no reason for them. */
class Toggle {
  odd = false;
  private lost = false;

  constructor(private readonly bus: BusTime) {}

  /** A packet has come. @returns whether it is a new one */
  take(odd: boolean, what: string): boolean {
    const fresh = odd === this.odd;
    if (fresh) this.odd = !this.odd;
    else {
      this.bus.counts.repeats++;
      if (!this.lost) this.bus.note(`${what}: a data toggle that does not follow`);
    }
    this.lost = this.bus.lost();
    return fresh;
  }

  get handshake_lost(): boolean {
    return this.lost;
  }
}

interface Transfer {
  readonly request: ControlRequest;
  readonly to_pc: boolean;
  stage: 'setup' | 'data' | 'status';
  toggle: Toggle;
  readonly bytes: number[];
  sent: number;
  silences: number;
  since_ns: number;
}

/** Longest waits in a data stage and in a status stage (USB 2.0, 9.2.6.4). */
const DATA_ns = 500e6;
const STATUS_ns = 50e6;

/** Endpoint 0: setup, data, status. */
export class ControlPipe implements Pipe {
  ready_ns = NEVER;
  private transfer: Transfer | undefined;

  constructor(
    private readonly bus: BusTime,
    private readonly done: (result: Uint8Array | 'stall') => void,
    private readonly fail: (why: string) => void,
  ) {}

  begin(request: ControlRequest): void {
    const toggle = new Toggle(this.bus);
    toggle.odd = true;
    this.transfer = {
      ...{ request, toggle, to_pc: request.type >= 128, stage: 'setup', bytes: [], sent: 0, silences: 0 },
      since_ns: this.bus.now_ns(),
    };
    this.ready_ns = this.bus.now_ns();
  }

  stop(): void {
    this.transfer = undefined;
    this.ready_ns = NEVER;
  }

  go(): number {
    const transfer = this.transfer!;
    if (transfer.stage === 'setup') return this.setup(transfer);
    const inward = transfer.to_pc === (transfer.stage === 'data');
    return inward ? this.read(transfer) : this.write(transfer);
  }

  private setup(transfer: Transfer): number {
    const { type, request, value, index, length = 0, data } = transfer.request;
    const packet = new Uint8Array(8);
    const view = new DataView(packet.buffer);
    packet.set([type, request]);
    view.setUint16(2, value, true);
    view.setUint16(4, index, true);
    view.setUint16(6, data?.length ?? length, true);
    const reply = this.bus.device()?.setup(this.bus.address(), packet) ?? SILENCE;
    if (this.answered(transfer, reply)) {
      this.enter(transfer, length > 0 || data !== undefined ? 'data' : 'status');
    }
    return takes_ns(8);
  }

  private enter(transfer: Transfer, stage: 'data' | 'status'): void {
    transfer.stage = stage;
    transfer.toggle = new Toggle(this.bus);
    transfer.toggle.odd = true;
    transfer.since_ns = this.bus.now_ns();
    this.ready_ns = this.bus.now_ns();
  }

  private read(transfer: Transfer): number {
    const { bus } = this;
    const reply = bus.device()?.in(bus.address(), 0) ?? SILENCE;
    if (!this.answered(transfer, reply) || reply.kind !== 'data') return takes_ns(0);
    const fresh = transfer.toggle.take(reply.odd, 'endpoint 0');
    if (!transfer.toggle.handshake_lost) bus.device()!.acknowledged(0);
    if (!fresh) return takes_ns(reply.bytes.length);
    transfer.bytes.push(...reply.bytes);
    if (transfer.stage === 'status') {
      if (reply.bytes.length !== 0) bus.note('a status stage with bytes');
      // The PC has it; a device that did not hear so keeps its packet until the next SETUP.
      this.finish(transfer);
    } else {
      const { length = 0, broken_off } = transfer.request;
      if (transfer.bytes.length > length) bus.note(`${transfer.bytes.length} bytes for a request of ${length}`);
      const last = reply.bytes.length < PACKET || transfer.bytes.length >= length;
      if (broken_off) this.finish(transfer);
      else if (last) this.enter(transfer, 'status');
    }
    return takes_ns(reply.bytes.length);
  }

  private write(transfer: Transfer): number {
    const { bus } = this;
    const { data = new Uint8Array() } = transfer.request;
    const status = transfer.stage === 'status';
    const packet = status ? new Uint8Array() : data.subarray(transfer.sent, transfer.sent + PACKET);
    const reply = bus.device()?.out(bus.address(), 0, transfer.toggle.odd, packet) ?? SILENCE;
    if (!this.answered(transfer, reply)) return takes_ns(packet.length);
    if (bus.lost()) return takes_ns(packet.length);
    transfer.toggle.odd = !transfer.toggle.odd;
    transfer.sent += packet.length;
    if (status) this.finish(transfer);
    else if (transfer.sent >= data.length) this.enter(transfer, 'status');
    return takes_ns(packet.length);
  }

  private finish(transfer: Transfer): void {
    this.stop();
    this.done(Uint8Array.from(transfer.bytes));
  }

  /** @returns whether it was taken or brought something; otherwise it has been dealt with */
  private answered(transfer: Transfer, reply: UsbReply): boolean {
    const { bus } = this;
    transfer.silences = reply.kind === 'none' ? transfer.silences + 1 : 0;
    bus.counts.packets++;
    if (reply.kind === 'none') {
      this.ready_ns = bus.now_ns() + bus.nak_wait_ns();
      if (transfer.silences >= TRIES) this.fail(`no answer in the ${transfer.stage} stage of ${words(transfer)}`);
    } else if (reply.kind === 'stall') {
      this.stop();
      this.done('stall');
    } else if (reply.kind === 'nak') {
      bus.counts.naks++;
      this.ready_ns = bus.now_ns() + bus.nak_wait_ns();
      const most_ns = transfer.stage === 'status' ? STATUS_ns : DATA_ns;
      const waited_ns = bus.now_ns() - transfer.since_ns;
      if (waited_ns > most_ns) this.fail(`${waited_ns / 1e6} ms in the ${transfer.stage} stage of ${words(transfer)}`);
    } else return true;
    return false;
  }
}

const words = ({ request }: Transfer): string => `request ${request.type.toString(16)} ${request.request.toString(16)}`;

/** The port's notices: asked every 16 ms; this device never has one. */
export class NoticePipe implements Pipe {
  ready_ns = NEVER;
  private endpoint = 0;

  constructor(private readonly bus: BusTime) {}

  start(endpoint: number): void {
    this.endpoint = endpoint;
    this.ready_ns = this.bus.now_ns();
  }

  stop(): void {
    this.ready_ns = NEVER;
  }

  go(): number {
    const { bus } = this;
    const reply = bus.device()?.in(bus.address(), this.endpoint) ?? SILENCE;
    if (reply.kind !== 'nak') bus.note(`the end for notices answers ${reply.kind}`);
    this.ready_ns = bus.now_ns() + 16e6;
    return takes_ns(0);
  }
}

/** What the PC's driver asks for at once. It hands over what has come when a packet is short or this is full. */
const READ_BYTES = 4096;

/** Bulk from the device. */
export class ReadPipe implements Pipe {
  ready_ns = NEVER;
  private endpoint = -1;
  private toggle: Toggle;
  private readonly came: number[] = [];

  constructor(
    private readonly bus: BusTime,
    private readonly onByte: (byte: number) => void,
  ) {
    this.toggle = new Toggle(bus);
  }

  /** A program has opened the port: the toggle goes on where it was. */
  open(endpoint: number): void {
    this.endpoint = endpoint;
    this.came.length = 0;
    this.ready_ns = this.bus.now_ns();
  }

  /** The program has closed it. */
  pause(): void {
    this.ready_ns = NEVER;
  }

  stop(): void {
    this.pause();
    this.toggle = new Toggle(this.bus);
  }

  go(): number {
    const { bus } = this;
    const reply = bus.device()?.in(bus.address(), this.endpoint) ?? SILENCE;
    bus.counts.packets++;
    if (reply.kind !== 'data') {
      if (reply.kind === 'nak') bus.counts.naks++;
      else bus.note(`reading: ${reply.kind}`);
      this.ready_ns = bus.now_ns() + bus.nak_wait_ns();
      return takes_ns(0);
    }
    const fresh = this.toggle.take(reply.odd, 'reading');
    if (!this.toggle.handshake_lost) bus.device()!.acknowledged(this.endpoint);
    if (fresh) this.take(reply.bytes);
    return takes_ns(reply.bytes.length);
  }

  private take(bytes: Uint8Array): void {
    this.came.push(...bytes);
    if (bytes.length === PACKET && this.came.length < READ_BYTES) return;
    for (const byte of this.came.splice(0)) this.onByte(byte);
  }
}

/** Bulk to the device. */
export class WritePipe implements Pipe {
  ready_ns = NEVER;
  private endpoint = -1;
  private odd = false;
  private readonly waiting: number[] = [];
  /** Sent and not acknowledged as far as the PC knows: it is sent again unchanged. */
  private packet: Uint8Array | undefined;

  constructor(private readonly bus: BusTime) {}

  get length(): number {
    return this.waiting.length + (this.packet?.length ?? 0);
  }

  open(endpoint: number): void {
    this.endpoint = endpoint;
  }

  push(bytes: Uint8Array): void {
    for (const byte of bytes) this.waiting.push(byte);
    if (this.ready_ns === NEVER && this.waiting.length > 0) this.ready_ns = this.bus.now_ns();
  }

  /** The program has closed it. */
  pause(): void {
    this.waiting.length = 0;
    this.packet = undefined;
    this.ready_ns = NEVER;
  }

  stop(): void {
    this.pause();
    this.odd = false;
  }

  go(): number {
    const { bus } = this;
    this.packet ??= Uint8Array.from(this.waiting.splice(0, PACKET));
    const { packet } = this;
    const reply = bus.device()?.out(bus.address(), this.endpoint, this.odd, packet) ?? SILENCE;
    bus.counts.packets++;
    if (reply.kind === 'ack') {
      if (bus.lost()) bus.counts.repeats++;
      else {
        this.odd = !this.odd;
        this.packet = undefined;
      }
      this.ready_ns = this.length > 0 ? bus.now_ns() : NEVER;
    } else {
      if (reply.kind === 'nak') bus.counts.naks++;
      else bus.note(`writing: ${reply.kind}`);
      this.ready_ns = bus.now_ns() + bus.nak_wait_ns();
    }
    return takes_ns(packet.length);
  }
}

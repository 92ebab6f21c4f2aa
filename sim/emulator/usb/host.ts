import type { Alarm, BoardClock, Problems, UsbController } from '../chip/index.js';
import { closePort, enumerate, openPort, type Script, type Step, Unusable, type UsbDevice } from './enumeration.js';
import { type BusTime, ControlPipe, NoticePipe, type Pipe, ReadPipe, WritePipe } from './pipes.js';

const FRAME_ns = 1e6;
/** A start of frame, and the longest transaction: neither may be cut by the next frame. */
const START_ns = 4000;
const LONGEST_ns = 60_000;
const ADDRESSES = 127;

/**
 * A PC at the other end of a USB cable: frames of a millisecond, transactions one after the other at 12 Mbit/s, bounce,
 * two resets, enumeration, and a program that opens the serial port. Full speed, one device, no hub. It demands of the
 * device what USB 2.0 demands and notes what is missing.
 */
export class UsbHost {
  /** What the PC's list of ports shows; undefined while there is no port. */
  device: UsbDevice | undefined;
  /** A program has the port, and bytes flow. */
  opened = false;
  /** Told about every byte for the program, and about the port that has gone. */
  onByte: (byte: number) => void = () => {};
  onGone: () => void = () => {};
  /** A handshake that is lost on the way, by its number; none unless a test says so. */
  losesHandshake: (number: number) => boolean = () => false;
  /** Counted since the beginning. */
  readonly counts = { frames: 0, packets: 0, naks: 0, repeats: 0, handshakes: 0, enumerations: 0, gone: 0 };
  /** How long the PC leaves an end alone that had nothing to say, ns. */
  nak_wait_ns = 25_000;

  private controller: UsbController | undefined;
  private plugged = false;
  private opening_now = false;
  /** Written while the port was being opened. */
  private readonly early: Uint8Array[] = [];
  private address = 0;
  private next_address = 1;
  private frame_end_ns = Number.POSITIVE_INFINITY;
  private free_ns = 0;
  private turn_at = 0;
  private readonly frame: Alarm;
  private readonly turn: Alarm;
  private readonly pause: Alarm;
  private script: Script<void> | undefined;
  private readonly scripts: Script<void>[] = [];
  private readonly control: ControlPipe;
  private readonly notices: NoticePipe;
  private readonly reads: ReadPipe;
  private readonly writes: WritePipe;
  private readonly pipes: readonly Pipe[];

  constructor(
    private readonly clock: BoardClock,
    private readonly problems: Problems,
  ) {
    this.frame = clock.createAlarm(() => this.startFrame());
    this.turn = clock.createAlarm(() => this.takeTurn());
    this.pause = clock.createAlarm(() => this.goOn(new Uint8Array()));
    const bus: BusTime = {
      now_ns: () => clock.nanos,
      device: () => this.controller,
      address: () => this.address,
      counts: this.counts,
      nak_wait_ns: () => this.nak_wait_ns,
      lost: () => this.losesHandshake(this.counts.handshakes++),
      note: (what) => problems.note('PC', what),
    };
    this.control = new ControlPipe(
      bus,
      (result) => this.goOn(result),
      (why) => this.giveUp(why),
    );
    this.notices = new NoticePipe(bus);
    this.reads = new ReadPipe(bus, (byte) => this.onByte(byte));
    this.writes = new WritePipe(bus);
    this.pipes = [this.control, this.notices, this.writes, this.reads];
  }

  /** The chip's controller after a power-up or reset; undefined while it has no power. */
  connect(controller: UsbController | undefined): void {
    if (this.controller?.attached) this.detach();
    this.controller = controller;
    if (controller !== undefined) controller.onAttach = (attached) => this.attachChanged(attached);
  }

  /** The cable goes in. */
  plug(): void {
    if (this.plugged) return;
    this.plugged = true;
    if (this.controller?.attached) this.attachChanged(true);
  }

  /** The cable is pulled. */
  unplug(): void {
    if (!this.plugged) return;
    this.detach();
    this.plugged = false;
  }

  /** A program opens the port. @returns false: there is no port */
  open(): boolean {
    if (this.device === undefined) return false;
    this.opening_now = true;
    this.early.length = 0;
    this.run(this.opening());
    return true;
  }

  /** The program closes it. */
  close(): void {
    this.opened = this.opening_now = false;
    this.reads.pause();
    this.writes.pause();
    if (this.device !== undefined) this.run(closePort());
  }

  /** Bytes of the program towards the device. They wait for the port that is being opened, and are lost without one. */
  send(bytes: Uint8Array): void {
    if (this.opened) this.writes.push(bytes);
    else if (this.opening_now) this.early.push(bytes);
    this.arrange();
  }

  /** Bytes that the device has not taken yet. */
  get pending(): number {
    return this.writes.length;
  }

  private attachChanged(attached: boolean): void {
    if (!this.plugged) return;
    if (attached) this.run(this.enumeration());
    else this.detach();
  }

  private detach(): void {
    const had_port = this.device !== undefined;
    this.device = undefined;
    this.opened = this.opening_now = false;
    this.address = 0;
    this.script = undefined;
    this.scripts.length = 0;
    for (const pipe of this.pipes) pipe.stop();
    for (const alarm of [this.frame, this.turn, this.pause]) alarm.cancel();
    this.frame_end_ns = Number.POSITIVE_INFINITY;
    if (!had_port) return;
    this.counts.gone++;
    this.onGone();
  }

  private *enumeration(): Script<void> {
    this.address = 0;
    const device = yield* enumerate(this.next_address);
    this.next_address = (this.next_address % ADDRESSES) + 1;
    this.notices.start(device.notices);
    this.device = device;
    this.counts.enumerations++;
  }

  private *opening(): Script<void> {
    yield* openPort();
    const { device } = this;
    // The program may have gone again in the meantime.
    if (device === undefined || !this.opening_now) return;
    this.opening_now = false;
    this.opened = true;
    this.reads.open(device.to_pc);
    this.writes.open(device.from_pc);
    for (const bytes of this.early.splice(0)) this.writes.push(bytes);
  }

  private run(script: Script<void>): void {
    this.scripts.push(script);
    if (this.script === undefined) this.nextScript();
  }

  private nextScript(): void {
    this.script = this.scripts.shift();
    if (this.script !== undefined) this.goOn(new Uint8Array());
    else this.arrange();
  }

  /** Goes on with the script after a step. */
  private goOn(result: Uint8Array | 'stall'): void {
    try {
      const { done, value } = this.script!.next(result);
      if (done) this.nextScript();
      else this.begin(value as Step);
    } catch (error) {
      if (!(error instanceof Unusable)) throw error;
      this.giveUp(error.message);
    }
  }

  private begin(step: Step): void {
    if ('wait_ns' in step) this.pause.schedule(step.wait_ns);
    else if ('reset_ns' in step) this.reset(step.reset_ns);
    else if ('address' in step) {
      this.address = step.address;
      this.goOn(new Uint8Array());
    } else {
      this.control.begin(step.control);
      this.arrange();
    }
  }

  private giveUp(why: string): void {
    this.problems.note('PC', `the device is not usable: ${why}`);
    this.detach();
  }

  /** The bus is held at reset; frames begin behind it. */
  private reset(duration_ns: number): void {
    for (const pipe of this.pipes) pipe.stop();
    this.address = 0;
    this.frame.cancel();
    this.frame_end_ns = Number.POSITIVE_INFINITY;
    this.controller?.busReset();
    this.frame.schedule(duration_ns);
    this.pause.schedule(duration_ns);
  }

  private startFrame(): void {
    const { clock } = this;
    this.controller?.startOfFrame(this.counts.frames++ & 0x7ff);
    this.frame.schedule(FRAME_ns);
    this.frame_end_ns = clock.nanos + FRAME_ns;
    this.free_ns = clock.nanos + START_ns;
    this.arrange();
  }

  /** Plans the next transaction: when the bus is free, an end is ready, and it fits into the frame. */
  private arrange(): void {
    if (!Number.isFinite(this.frame_end_ns)) return;
    const ready_ns = Math.min(...this.pipes.map((pipe) => pipe.ready_ns));
    const at_ns = Math.max(this.clock.nanos, this.free_ns, ready_ns);
    // Too late for this frame: the next one arranges it.
    if (at_ns + LONGEST_ns > this.frame_end_ns) this.turn.cancel();
    else this.turn.schedule(at_ns - this.clock.nanos);
  }

  private takeTurn(): void {
    const now_ns = this.clock.nanos;
    for (let n = 0; n < this.pipes.length; n++) {
      const place = (this.turn_at + n) % this.pipes.length;
      const pipe = this.pipes[place];
      if (pipe.ready_ns > now_ns) continue;
      this.turn_at = place + 1;
      this.free_ns = now_ns + pipe.go();
      break;
    }
    this.arrange();
  }
}

import type { Bus } from './thumb.js';
import { ThumbControl } from './thumb-control.js';

const SP = 13;
const LR = 14;
const PC = 15;

const HARD_FAULT = 3;
export const SUPERVISOR_CALL = 11;
export const PEND_SV = 14;
export const SYS_TICK = 15;
export const FIRST_INTERRUPT = 16;
/** Priority of thread mode, below all exceptions. */
const LOWEST = 4;
/** Interrupt latency of the Cortex-M0+ without wait states, and the way back, cycles (from memory). */
const ENTRY_CYCLES = 15;
const RETURN_CYCLES = 13;

/** Exceptions, sleep and interrupt controller around the instructions. */
export class Processor extends ThumbControl {
  /** Cycles since power-up, up to the current burst. */
  private before = 0;
  /** Number of the current exception, 0 for none. */
  exception = 0;
  vectors = 0;
  private other_stack = 0;
  private on_process_stack = false;
  private event = false;
  /** A fault in the fault handler: the processor stands still until a reset. */
  locked = false;

  /** Interrupts that are asserted, pending, enabled, active: one bit each. */
  private asserted = 0;
  pending = 0;
  enabled = 0;
  private active = 0;
  /** SVC, PendSV and SysTick that are pending: a bit each, by exception number. */
  system_pending = 0;
  /** By exception number; the interrupts' begin at FIRST_INTERRUPT. */
  readonly priorities = new Uint8Array(FIRST_INTERRUPT + 32);

  /** Called after the entry into an exception and before its return. */
  onEntry: (exception: number) => void = () => {};
  onReturn: (exception: number) => void = () => {};
  /** Called when the instruction at this address faulted. */
  onFault: (address: number) => void = () => {};

  constructor(readonly bus: Bus) {
    super();
  }

  get cycles(): number {
    return this.before + this.spent;
  }

  /** Adds wait states to the current instruction. */
  stall(cycles: number): void {
    this.spent += cycles;
  }

  /** Ends the burst after this instruction: something outside needs attention. */
  attend(): void {
    this.limit = -1;
  }

  /** As after a reset; memory and cycle counter stay. Execution begins at `start`. */
  reset(start: number, stack: number): void {
    this.r.fill(0);
    this.r[SP] = stack;
    this.r[LR] = -1;
    this.r[PC] = start & ~1;
    this.exception = 0;
    this.vectors = 0;
    this.on_process_stack = false;
    this.other_stack = 0;
    this.masked = 0;
    this.waiting = false;
    this.faulted = false;
    this.locked = false;
    this.asserted = 0;
    this.pending = 0;
    this.enabled = 0;
    this.active = 0;
    this.system_pending = 0;
    this.priorities.fill(0);
    this.guard_bytes = 0;
  }

  /** Runs instructions until this cycle, or until `attend`. Asleep or locked up, it lets the time pass. */
  runUntil(cycle: number): void {
    this.settle();
    this.takeExceptions();
    if (this.waiting || this.locked) {
      this.before = Math.max(cycle, this.before);
      return;
    }
    this.limit = Math.min(cycle - this.before, 1 << 29);
    this.burst();
    if (this.faulted) this.hardFault();
    this.settle();
  }

  private settle(): void {
    this.before += this.spent;
    this.spent = 0;
  }

  /** @param irq 0…31; a line that stays asserted becomes pending again. */
  setInterrupt(irq: number, on: boolean): void {
    const bit = 1 << irq;
    if (!on) {
      this.asserted &= ~bit;
      return;
    }
    this.asserted |= bit;
    if ((this.active & bit) === 0) this.pending |= bit;
    this.limit = -1;
  }

  /** Makes SVC, PendSV or SysTick pending, or no longer so. */
  setPending(exception: number, on: boolean): void {
    if (on) this.system_pending |= 1 << exception;
    else this.system_pending &= ~(1 << exception);
    this.limit = -1;
  }

  private priorityOf(exception: number): number {
    if (exception === 0) return LOWEST;
    return exception === HARD_FAULT ? -1 : this.priorities[exception];
  }

  /** Most urgent exception that is pending and enabled, or 0. Of equal priorities the lowest number comes first. */
  private next(): number {
    let best = 0;
    let urgency = LOWEST;
    let exception = 0;
    for (let bits = this.system_pending; bits !== 0; bits &= bits - 1) {
      exception = 31 - Math.clz32(bits & -bits);
      if (this.priorities[exception] >= urgency) continue;
      best = exception;
      urgency = this.priorities[exception];
    }
    for (let bits = this.pending & this.enabled; bits !== 0; bits &= bits - 1) {
      exception = FIRST_INTERRUPT + 31 - Math.clz32(bits & -bits);
      if (this.priorities[exception] >= urgency) continue;
      best = exception;
      urgency = this.priorities[exception];
    }
    return best;
  }

  private takeExceptions(): void {
    if (this.locked) return;
    const exception = this.next();
    if (exception === 0) return;
    const current = this.priorityOf(this.exception);
    const urgency = this.priorityOf(exception);
    if (urgency >= current) return;
    // A masked interrupt wakes the processor and is not taken (ARMv6-M, WFI).
    this.waiting = false;
    if (this.masked !== 0) return;
    if (exception < FIRST_INTERRUPT) this.system_pending &= ~(1 << exception);
    else {
      const bit = 1 << (exception - FIRST_INTERRUPT);
      this.pending &= ~bit;
      this.active |= bit;
    }
    this.enter(exception);
  }

  private enter(exception: number): void {
    const { r } = this;
    const aligned = (r[SP] & 4) !== 0 ? 1 : 0;
    const frame = (r[SP] - 32) & ~7;
    const from_thread = this.exception === 0;
    const on_process = from_thread && this.on_process_stack;
    r[SP] = frame;
    for (let n = 0; n < 4; n++) this.store32(frame + 4 * n, r[n]);
    this.store32(frame + 16, r[12]);
    this.store32(frame + 20, r[LR]);
    this.store32(frame + 24, r[PC] & ~1);
    this.store32(frame + 28, this.status() | (aligned << 9));
    r[LR] = from_thread ? (on_process ? -3 : -7) : -15;
    if (on_process) this.useStack(false);
    this.exception = exception;
    this.event = true;
    const vector = this.load32(this.vectors + 4 * exception);
    if ((vector & 1) === 0) this.fault();
    r[PC] = vector & ~1;
    this.spent += ENTRY_CYCLES;
    this.onEntry(exception);
    if (this.faulted && exception === HARD_FAULT) this.lock();
  }

  private lock(): void {
    this.faulted = false;
    this.locked = true;
  }

  private hardFault(): void {
    this.faulted = false;
    this.r[PC] = this.at;
    this.onFault(this.at >>> 0);
    if (this.exception === HARD_FAULT) this.lock();
    else this.enter(HARD_FAULT);
  }

  protected override branchExchange(address: number): void {
    if (this.exception !== 0 && address >>> 28 === 15) this.leave(address);
    else {
      if ((address & 1) === 0) this.fault();
      this.r[PC] = address & ~1;
    }
  }

  private leave(code: number): void {
    const { r } = this;
    const left = this.exception;
    this.onReturn(left);
    const bit = left >= FIRST_INTERRUPT ? 1 << (left - FIRST_INTERRUPT) : 0;
    this.active &= ~bit;
    // A line that is still asserted is pending again.
    if ((this.asserted & bit) !== 0) this.pending |= bit;
    if ((code & 15) === 13) this.useStack(true);
    const frame = r[SP];
    for (let n = 0; n < 4; n++) r[n] = this.load32(frame + 4 * n);
    r[12] = this.load32(frame + 16);
    r[LR] = this.load32(frame + 20);
    r[PC] = this.load32(frame + 24) & ~1;
    const status = this.load32(frame + 28);
    r[SP] = (frame + 32) | ((status & 0x200) !== 0 ? 4 : 0);
    this.setFlags(status);
    this.exception = (code & 15) === 1 ? status & 63 : 0;
    this.event = true;
    this.spent += RETURN_CYCLES;
    this.limit = -1;
  }

  private useStack(process: boolean): void {
    if (process === this.on_process_stack) return;
    const before = this.r[SP];
    this.r[SP] = this.other_stack;
    this.other_stack = before;
    this.on_process_stack = process;
  }

  private status(): number {
    const { result } = this;
    const negative = result < 0 ? 1 : 0;
    const zero = result === 0 ? 1 : 0;
    return (negative << 31) | (zero << 30) | (this.carry << 29) | (this.overflow << 28) | (1 << 24) | this.exception;
  }

  private setFlags(status: number): void {
    this.result = status < 0 ? -1 : (status & 0x40000000) !== 0 ? 0 : 1;
    this.carry = (status >>> 29) & 1;
    this.overflow = (status >>> 28) & 1;
  }

  protected override special(register: number): number {
    switch (register) {
      case 8:
        return this.on_process_stack ? this.other_stack : this.r[SP];
      case 9:
        return this.on_process_stack ? this.r[SP] : this.other_stack;
      case 16:
        return this.masked;
      case 20:
        return this.on_process_stack ? 2 : 0;
      default:
        return register < 4 ? this.status() & ((register & 1) !== 0 ? 0xf000003f : 0xf0000000) : this.exception;
    }
  }

  protected override setSpecial(register: number, value: number): void {
    if (register === 16) this.masked = value & 1;
    else if (register === 20) {
      if (this.exception === 0) this.useStack((value & 2) !== 0);
    } else if (register === 8 || register === 9) {
      if (this.on_process_stack === (register === 9)) this.r[SP] = value & ~3;
      else this.other_stack = value & ~3;
    } else if (register < 4) this.setFlags(value);
    this.limit = -1;
  }

  protected override supervisor(): void {
    if (this.masked !== 0 || this.priorityOf(this.exception) <= this.priorities[SUPERVISOR_CALL]) this.fault();
    this.setPending(SUPERVISOR_CALL, true);
  }

  protected override wait(event: boolean): void {
    if (event && this.event) this.event = false;
    else {
      this.waiting = true;
      this.limit = -1;
    }
  }

  protected override sendEvent(): void {
    this.event = true;
  }
}

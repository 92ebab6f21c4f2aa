// One peripheral block, one file.
/** The timer and the watchdog, whose tick generator drives it. */
import type { Alarm, BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { type Kept, keptWhole, Registers } from './registers.js';

const CTRL = 0x00;
const LOAD = 0x04;
const REASON = 0x08;
const SCRATCH_0 = 0x0c;
const TICK = 0x2c;
/** Bits of CTRL; those that are kept pause it for a debugger. */
const PAUSES = 0x07000000;
const ENABLE = 0x40000000;
const TRIGGER = 0x80000000;
/** Bits of TICK. */
const TICK_ENABLE = 0x200;
const TICK_RUNNING = 0x400;
const WATCHDOG_KEPT: Kept = { [CTRL]: PAUSES, [LOAD]: 0xffffff, [TICK]: 0x3ff, ...keptWhole(SCRATCH_0, TICK) };

const REASON_TIMER = 1;
const REASON_FORCED = 2;

/**
 * Watchdog (datasheet 4.7). It outlives the reset that it causes, with REASON and SCRATCH; a power-up clears both. It
 * counts twice a microsecond (erratum RP2040-E1). Its tick generator also drives the timer.
 */
export class Watchdog extends Registers {
  /** Called when the chip is to be reset: 1 by time, 2 by force. */
  onReset: (reason: number) => void = () => {};

  private enabled = false;
  private load = 0;
  private loaded_ns = 0;
  private readonly due: Alarm;

  constructor(
    private readonly clock: BoardClock,
    problems: Problems,
    private readonly reference_Hz: () => number,
  ) {
    super('watchdog', problems, WATCHDOG_KEPT);
    this.reg[TICK] = TICK_ENABLE;
    this.due = clock.createAlarm(() => this.bite(REASON_TIMER));
  }

  /** After any reset; SCRATCH and REASON stay unless the power was off. */
  restart(power_up: boolean): void {
    this.due.cancel();
    this.enabled = false;
    this.load = 0;
    if (power_up) this.reg.fill(0);
    this.reg[TICK] = TICK_ENABLE;
  }

  /** True when the tick generator gives a microsecond. */
  get ticks_right(): boolean {
    const tick = this.reg[TICK];
    return (tick & TICK_ENABLE) !== 0 && (tick & 0x1ff) * 1e6 === this.reference_Hz();
  }

  override readUint32(offset: number): number {
    switch (offset) {
      case CTRL:
        return (this.enabled ? ENABLE : 0) | this.reg[CTRL] | this.left();
      case REASON:
        return this.reg[REASON];
      case TICK:
        return this.reg[TICK] | ((this.reg[TICK] & TICK_ENABLE) !== 0 ? TICK_RUNNING : 0);
      default:
        return super.readUint32(offset);
    }
  }

  override writeUint32(offset: number, value: number): void {
    super.writeUint32(offset, value);
    if (offset === CTRL) {
      const enable = (value & ENABLE) !== 0;
      if (enable && !this.enabled) this.loaded_ns = this.clock.nanos;
      else if (!enable && this.enabled) this.load = this.left();
      this.enabled = enable;
      this.arrange();
      if ((value & TRIGGER) !== 0) this.bite(REASON_FORCED);
    } else if (offset === LOAD) {
      this.load = this.reg[LOAD];
      this.loaded_ns = this.clock.nanos;
      this.arrange();
    }
  }

  private left(): number {
    if (!this.enabled) return this.load;
    return Math.max(0, this.load - Math.floor((this.clock.nanos - this.loaded_ns) / 500));
  }

  private arrange(): void {
    this.due.cancel();
    if (!this.enabled) return;
    if (!this.ticks_right) this.problems.note('watchdog', 'enabled with a tick that is not a microsecond');
    this.due.schedule(Math.max(0, this.load * 500 - (this.clock.nanos - this.loaded_ns)));
  }

  private bite(reason: number): void {
    this.reg[REASON] = reason;
    this.onReset(reason);
  }
}

const TIMEHR = 0x08;
const TIMELR = 0x0c;
const ALARM_0 = 0x10;
const ARMED = 0x20;
const TIMERAWH = 0x24;
const TIMERAWL = 0x28;
const DBGPAUSE = 0x2c;
const INTR = 0x34;
const INTE = 0x38;
const INTF = 0x3c;
const INTS = 0x40;
/** DBGPAUSE may be written; without a debugger it has no effect. */
const TIMER_KEPT: Kept = { [DBGPAUSE]: 0, [INTE]: 15, [INTF]: 15 };

const ALARMS = 4;
const LOW_WORD = 2 ** 32;

/** Microsecond timer with four alarms (datasheet 4.6). An alarm goes off when the low word equals it, to the microsecond. */
export class Timer extends Registers {
  private start_ns: number;
  private readonly due: Alarm[] = [];

  constructor(
    private readonly clock: BoardClock,
    problems: Problems,
    private readonly setInterrupt: (irq: number, on: boolean) => void,
    private readonly ticksRight: () => boolean,
  ) {
    super('timer', problems, TIMER_KEPT);
    this.start_ns = clock.nanos;
    for (let n = 0; n < ALARMS; n++) this.due.push(clock.createAlarm(() => this.goOff(n)));
  }

  /** Held in reset: counts from 0 again. */
  reset(): void {
    this.disarm(15);
    this.start_ns = this.clock.nanos;
    this.reg.fill(0);
    this.tell();
  }

  private get micros(): number {
    return Math.floor((this.clock.nanos - this.start_ns) / 1000 + 1e-6);
  }

  override readUint32(offset: number): number {
    if (offset >= ALARM_0 && offset <= ARMED) return this.reg[offset];
    switch (offset) {
      case TIMELR:
        // Read first, it latches the high word.
        this.reg[TIMEHR] = Math.floor(this.micros / LOW_WORD);
        return this.micros % LOW_WORD;
      case TIMEHR:
      case INTR:
        return this.reg[offset];
      case TIMERAWH:
        return Math.floor(this.micros / LOW_WORD);
      case TIMERAWL:
        return this.micros % LOW_WORD;
      case INTS:
        return this.ints;
      default:
        return super.readUint32(offset);
    }
  }

  override writeUint32(offset: number, value: number): void {
    if (offset >= ALARM_0 && offset < ARMED) this.arm((offset - ALARM_0) >> 2, value >>> 0);
    else if (offset === ARMED) this.disarm(this.raw);
    else if (offset === INTR) this.reg[INTR] &= ~this.raw;
    else super.writeUint32(offset, value);
    this.tell();
  }

  private arm(n: number, target: number): void {
    if (!this.ticksRight()) this.problems.note('timer', 'alarm set with a tick that is not a microsecond');
    const now_us = this.micros;
    const low = now_us % LOW_WORD;
    // The comparator sees each new microsecond: the present one is over.
    const ahead_us = target > low ? target - low : target - low + LOW_WORD;
    this.reg[ALARM_0 + 4 * n] = target;
    this.reg[ARMED] |= 1 << n;
    const at_ns = this.start_ns + (now_us + ahead_us) * 1000;
    this.due[n].schedule(at_ns - this.clock.nanos);
  }

  private disarm(bits: number): void {
    for (let n = 0; n < ALARMS; n++) if ((bits & (1 << n)) !== 0) this.due[n].cancel();
    this.reg[ARMED] &= ~bits;
  }

  private goOff(n: number): void {
    this.reg[ARMED] &= ~(1 << n);
    this.reg[INTR] |= 1 << n;
    this.tell();
  }

  private get ints(): number {
    return (this.reg[INTR] & this.reg[INTE]) | this.reg[INTF];
  }

  private tell(): void {
    const on = this.ints;
    for (let n = 0; n < ALARMS; n++) this.setInterrupt(n, (on & (1 << n)) !== 0);
  }
}

const CRYSTAL_CTRL = 0x00;
const CRYSTAL_STATUS = 0x04;
const CRYSTAL_STARTUP = 0x0c;
const CRYSTAL_ENABLE = 0xfab;
const CRYSTAL_STABLE = 0x80000000;
const CRYSTAL_ENABLED = 1 << 12;
/** The chip counts the start in 256 periods of the crystal. */
const CRYSTAL_PERIODS = 256;
const CRYSTAL_HZ = 12e6;

/**
 * Crystal oscillator (RP2040 datasheet 2.16): after it is switched on it counts, and then calls itself stable, whether the crystal
 * is or not. It runs on through a watchdog reset that leaves it out.
 */
export class Crystal extends Registers {
  /** Time that this board's crystal needs, ns; infinity: there is none, or it is broken. */
  settles_ns = 6e6;
  private on_since_ns = Number.POSITIVE_INFINITY;

  constructor(
    private readonly clock: BoardClock,
    problems: Problems,
  ) {
    super('crystal', problems, { [CRYSTAL_CTRL]: 0xffffff, [CRYSTAL_STARTUP]: 0x3fff });
    this.powerUp();
  }

  powerUp(): void {
    this.on_since_ns = Number.POSITIVE_INFINITY;
    this.reg[CRYSTAL_CTRL] = 0;
    // As the chip has it after its power-up: about 1 ms.
    this.reg[CRYSTAL_STARTUP] = 0xc4;
  }

  override readUint32(offset: number): number {
    if (offset !== CRYSTAL_STATUS) return super.readUint32(offset);
    const on_ns = this.clock.nanos - this.on_since_ns;
    const counted = this.settles_ns !== Number.POSITIVE_INFINITY && on_ns >= this.counts_ns;
    if (counted && on_ns < this.settles_ns) {
      this.problems.note('crystal', `used after ${Math.round(on_ns / 1e6)} ms, needs ${this.settles_ns / 1e6}`);
    }
    return ((counted ? CRYSTAL_STABLE : 0) | (on_ns >= 0 ? CRYSTAL_ENABLED : 0)) >>> 0;
  }

  override writeUint32(offset: number, value: number): void {
    const before = this.on;
    super.writeUint32(offset, value);
    if (this.on !== before) this.on_since_ns = this.on ? this.clock.nanos : Number.POSITIVE_INFINITY;
  }

  private get on(): boolean {
    return this.reg[CRYSTAL_CTRL] >>> 12 === CRYSTAL_ENABLE;
  }

  private get counts_ns(): number {
    return (this.reg[CRYSTAL_STARTUP] * CRYSTAL_PERIODS * 1e9) / CRYSTAL_HZ;
  }
}

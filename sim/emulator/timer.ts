import type { Alarm, BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { Registers } from './registers.js';

const TIMEHW = 0x00;
const TIMELW = 0x04;
const TIMEHR = 0x08;
const TIMELR = 0x0c;
const ALARM_0 = 0x10;
const ARMED = 0x20;
const TIMERAWH = 0x24;
const TIMERAWL = 0x28;
const DBGPAUSE = 0x2c;
const PAUSE = 0x30;
const INTR = 0x34;
const INTE = 0x38;
const INTF = 0x3c;
const INTS = 0x40;

const ALARMS = 4;
const LOW_WORD = 2 ** 32;

/** Microsecond timer with four alarms (datasheet 4.6). An alarm goes off when the low word equals it, to the microsecond. */
export class Timer extends Registers {
  private start_ns: number;
  private readonly due: Alarm[] = [];
  private readonly targets = new Uint32Array(ALARMS);
  private armed = 0;
  private raised = 0;
  private enabled = 0;
  private forced = 0;
  private latched = 0;

  constructor(
    private readonly clock: BoardClock,
    private readonly problems: Problems,
    private readonly setInterrupt: (irq: number, on: boolean) => void,
    private readonly ticksRight: () => boolean,
  ) {
    super();
    this.start_ns = clock.nanos;
    for (let n = 0; n < ALARMS; n++) this.due.push(clock.createAlarm(() => this.goOff(n)));
  }

  /** Held in reset: counts from 0 again. */
  reset(): void {
    this.disarm(15);
    this.start_ns = this.clock.nanos;
    this.raised = 0;
    this.enabled = 0;
    this.forced = 0;
    this.tell();
  }

  private get micros(): number {
    return Math.floor((this.clock.nanos - this.start_ns) / 1000 + 1e-6);
  }

  override readUint32(offset: number): number {
    if (offset >= ALARM_0 && offset < ARMED) return this.targets[(offset - ALARM_0) >> 2]!;
    switch (offset) {
      case TIMEHR:
        return this.latched;
      case TIMELR:
        this.latched = Math.floor(this.micros / LOW_WORD);
        return this.micros % LOW_WORD;
      case TIMERAWH:
        return Math.floor(this.micros / LOW_WORD);
      case TIMERAWL:
        return this.micros % LOW_WORD;
      case ARMED:
        return this.armed;
      case INTR:
        return this.raised;
      case INTE:
        return this.enabled;
      case INTF:
        return this.forced;
      case INTS:
        return (this.raised & this.enabled) | this.forced;
      case TIMEHW:
      case TIMELW:
      case DBGPAUSE:
      case PAUSE:
        return 0;
      default:
        this.problems.note('timer', `read from offset ${offset.toString(16)}`);
        return 0;
    }
  }

  override writeUint32(offset: number, value: number): void {
    if (offset >= ALARM_0 && offset < ARMED) this.arm((offset - ALARM_0) >> 2, value >>> 0);
    else if (offset === ARMED) this.disarm(this.raw);
    else if (offset === INTR) this.raised &= ~this.raw;
    else if (offset === INTE) this.enabled = value & 15;
    else if (offset === INTF) this.forced = value & 15;
    else if (offset !== DBGPAUSE) this.problems.note('timer', `write to offset ${offset.toString(16)}`);
    this.tell();
  }

  private arm(n: number, target: number): void {
    if (!this.ticksRight()) this.problems.note('timer', 'alarm set with a tick that is not a microsecond');
    const now_us = this.micros;
    const low = now_us % LOW_WORD;
    // The comparator looks at each new microsecond: the present one is over.
    const ahead_us = target > low ? target - low : target - low + LOW_WORD;
    this.targets[n] = target;
    this.armed |= 1 << n;
    const at_ns = this.start_ns + (now_us + ahead_us) * 1000;
    this.due[n]!.schedule(at_ns - this.clock.nanos);
  }

  private disarm(bits: number): void {
    for (let n = 0; n < ALARMS; n++) if ((bits & (1 << n)) !== 0) this.due[n]!.cancel();
    this.armed &= ~bits;
  }

  private goOff(n: number): void {
    this.armed &= ~(1 << n);
    this.raised |= 1 << n;
    this.tell();
  }

  private tell(): void {
    const on = (this.raised & this.enabled) | this.forced;
    for (let n = 0; n < ALARMS; n++) this.setInterrupt(n, (on & (1 << n)) !== 0);
  }
}

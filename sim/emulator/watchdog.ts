import type { Alarm, BoardClock } from './clock.js';
import type { Problems } from './problems.js';
import { Registers } from './registers.js';

const CTRL = 0x00;
const LOAD = 0x04;
const REASON = 0x08;
const SCRATCH = 0x0c;
const TICK = 0x2c;
const MASK = 0xffffff;
const ENABLE = 0x40000000;

export const REASON_TIMER = 1;
export const REASON_FORCED = 2;

/**
 * Watchdog (datasheet 4.7). It outlives the reset that it causes, with reason and scratch registers; a power-up clears
 * both. It counts twice a microsecond (erratum RP2040-E1). Its tick generator also drives the timer.
 */
export class Watchdog extends Registers {
  readonly scratch = new Uint32Array(8);
  reason = 0;
  /** The chip is to be reset; 1 by time, 2 by force. */
  onReset: (reason: number) => void = () => {};

  private enabled = false;
  private pauses = 0;
  private load = 0;
  private loaded_ns = 0;
  private tick = 0x200;
  private readonly due: Alarm;

  constructor(
    private readonly clock: BoardClock,
    private readonly problems: Problems,
    private readonly reference_Hz: () => number,
  ) {
    super();
    this.due = clock.createAlarm(() => this.bite(REASON_TIMER));
  }

  /** After any reset; scratch and reason stay unless the power was off. */
  restart(power_up: boolean): void {
    this.due.cancel();
    this.enabled = false;
    this.load = 0;
    this.tick = 0x200;
    if (!power_up) return;
    this.reason = 0;
    this.scratch.fill(0);
  }

  /** True when the tick generator gives a microsecond. */
  get ticks_right(): boolean {
    return (this.tick & 0x200) !== 0 && (this.tick & 0x1ff) * 1e6 === this.reference_Hz();
  }

  override readUint32(offset: number): number {
    if (offset === CTRL) return (this.enabled ? ENABLE : 0) | this.pauses | this.left();
    if (offset === REASON) return this.reason;
    if (offset >= SCRATCH && offset < TICK) return this.scratch[(offset - SCRATCH) >> 2]!;
    if (offset === TICK) return this.tick | ((this.tick & 0x200) !== 0 ? 0x400 : 0);
    return 0;
  }

  override writeUint32(offset: number, value: number): void {
    if (offset === CTRL) {
      this.pauses = value & 0x07000000;
      const enable = (value & ENABLE) !== 0;
      if (enable && !this.enabled) this.loaded_ns = this.clock.nanos;
      else if (!enable && this.enabled) this.load = this.left();
      this.enabled = enable;
      this.arrange();
      if ((value & 0x80000000) !== 0) this.bite(REASON_FORCED);
    } else if (offset === LOAD) {
      this.load = value & MASK;
      this.loaded_ns = this.clock.nanos;
      this.arrange();
    } else if (offset >= SCRATCH && offset < TICK) this.scratch[(offset - SCRATCH) >> 2] = value;
    else if (offset === TICK) this.tick = value & 0x3ff;
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
    this.reason = reason;
    this.onReset(reason);
  }
}

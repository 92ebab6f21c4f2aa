/** A thing to be done at a time of the emulated board. */
export interface Alarm {
  /** Does it this many nanoseconds from now; an earlier appointment is given up. */
  schedule(delta_ns: number): void;
  cancel(): void;
}

class BoardAlarm implements Alarm {
  next: BoardAlarm | null = null;
  at_ns = 0;
  scheduled = false;

  constructor(
    private readonly clock: BoardClock,
    readonly callback: () => void,
  ) {}

  schedule(delta_ns: number): void {
    if (this.scheduled) this.clock.unlink(this);
    this.at_ns = this.clock.nanos + delta_ns;
    this.clock.link(this);
  }

  cancel(): void {
    if (this.scheduled) this.clock.unlink(this);
  }
}

/**
 * Time of the board since power-up, ns, told by the processor's cycles; and the list of what is due. While an alarm
 * is answered the clock stands at the alarm's own time, so that what goes on from it does not drift.
 */
export class BoardClock {
  /** Called when the list changes: the processor must look again how far it may run. */
  onChange: () => void = () => {};
  /** Cycles since power-up; the processor's counter. */
  cycles: () => number = () => 0;

  private first: BoardAlarm | null = null;
  private base_ns = 0;
  private base_cycles = 0;
  private cycle_ns = 8;
  private standing_ns = -1;

  get nanos(): number {
    if (this.standing_ns >= 0) return this.standing_ns;
    return this.base_ns + (this.cycles() - this.base_cycles) * this.cycle_ns;
  }

  /** Length of a cycle from now on. */
  setFrequency(hz: number): void {
    const now_ns = this.nanos;
    this.base_cycles = this.cycles();
    this.base_ns = now_ns;
    this.cycle_ns = 1e9 / hz;
    this.onChange();
  }

  /** First cycle at which this time has come. */
  cycleAt(at_ns: number): number {
    return this.base_cycles + Math.ceil((at_ns - this.base_ns) / this.cycle_ns - 1e-6);
  }

  /** Time of a cycle at the present frequency, ns. */
  timeOf(cycle: number): number {
    return this.base_ns + (cycle - this.base_cycles) * this.cycle_ns;
  }

  /** When the next alarm is due, ns; infinity without one. */
  get next_ns(): number {
    return this.first === null ? Number.POSITIVE_INFINITY : this.first.at_ns;
  }

  createAlarm(callback: () => void): Alarm {
    return new BoardAlarm(this, callback);
  }

  link(alarm: BoardAlarm): void {
    let before: BoardAlarm | null = null;
    let after = this.first;
    while (after !== null && after.at_ns <= alarm.at_ns) {
      before = after;
      after = after.next;
    }
    alarm.next = after;
    alarm.scheduled = true;
    if (before !== null) before.next = alarm;
    else {
      this.first = alarm;
      this.onChange();
    }
  }

  unlink(alarm: BoardAlarm): void {
    let before: BoardAlarm | null = null;
    let here = this.first;
    while (here !== null && here !== alarm) {
      before = here;
      here = here.next;
    }
    alarm.scheduled = false;
    if (here === null) return;
    if (before === null) this.first = alarm.next;
    else before.next = alarm.next;
  }

  /** Answers all alarms that are due, in their order. */
  fire(): void {
    const now_ns = this.nanos;
    while (this.first !== null && this.first.at_ns <= now_ns + 1e-3) {
      const alarm = this.first;
      this.first = alarm.next;
      alarm.scheduled = false;
      this.standing_ns = alarm.at_ns;
      alarm.callback();
    }
    this.standing_ns = -1;
  }

  /** Forgets every alarm: the peripherals that made them are gone. Time goes on. */
  clear(): void {
    this.first = null;
    this.onChange();
  }
}

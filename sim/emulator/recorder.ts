import { PIN_ROWS } from '../../firmware/wire/board-rows.js';

/** Edge of an output. */
export interface Edge {
  readonly at_ns: number;
  /** Name of the pin, as in PIN_ROWS. */
  readonly pin: string;
  readonly high: boolean;
}

const NAMES = new Map(PIN_ROWS.map((row) => [row.gpio, row.name]));
const number = (name: string): number => PIN_ROWS.find((row) => row.name === name)!.gpio;
const TRIGGER = number('TRIGGER');
const Z_STEP = number('Z_STEP');
const Z_DIRECTION = number('Z_DIRECTION');
const Z_OWNED = number('Z_OWNED');

/** Places at first; doubled as they fill up. */
const FIRST = 1 << 12;

/** What the outputs did: counts that never end, and the last edges with their times. */
export class Recorder {
  /** Time of the board. */
  now_ns: () => number = () => 0;
  /** Rising and falling edges of the trigger pin so far. */
  trigger_rises = 0;
  trigger_falls = 0;
  /** Sum of the Z steps so far, up positive; and those that were given without owning Z. */
  z_steps = 0;
  foreign_steps = 0;
  /** Shortest time from a change of direction to a step, ns. */
  least_set_up_ns = Number.POSITIVE_INFINITY;

  private times = new Float64Array(FIRST);
  private marks = new Uint8Array(FIRST);
  private written = 0;
  private direction_up = false;
  private direction_ns = Number.NEGATIVE_INFINITY;
  private z_owned = false;

  /** @param most edges that are kept; older ones are overwritten */
  constructor(private readonly most = 1 << 20) {}

  edge(gpio: number, high: boolean): void {
    const at_ns = this.now_ns();
    if (this.written === this.times.length && this.written < this.most) this.grow();
    const place = this.written++ % this.most;
    this.times[place] = at_ns;
    this.marks[place] = gpio | (high ? 128 : 0);
    if (gpio === TRIGGER) {
      if (high) this.trigger_rises++;
      else this.trigger_falls++;
    } else if (gpio === Z_DIRECTION) {
      this.direction_up = high;
      this.direction_ns = at_ns;
    } else if (gpio === Z_OWNED) this.z_owned = high;
    else if (gpio === Z_STEP && high) {
      this.z_steps += this.direction_up ? 1 : -1;
      if (!this.z_owned) this.foreign_steps++;
      this.least_set_up_ns = Math.min(this.least_set_up_ns, at_ns - this.direction_ns);
    }
  }

  private grow(): void {
    const length = Math.min(this.most, 2 * this.times.length);
    const { times, marks } = this;
    this.times = new Float64Array(length);
    this.marks = new Uint8Array(length);
    this.times.set(times);
    this.marks.set(marks);
  }

  /** Edges that are kept, from this time on, oldest first; of one pin if it is named. */
  edges(from_ns = 0, pin?: string): Edge[] {
    const found: Edge[] = [];
    for (let n = Math.max(0, this.written - this.most); n < this.written; n++) {
      const at_ns = this.times[n % this.most]!;
      const mark = this.marks[n % this.most]!;
      const name = NAMES.get(mark & 127)!;
      if (at_ns >= from_ns && (pin === undefined || pin === name)) {
        found.push({ at_ns, pin: name, high: (mark & 128) !== 0 });
      }
    }
    return found;
  }
}

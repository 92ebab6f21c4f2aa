import {
  INPUT_BREAKAWAY,
  INPUT_HOLD,
  INPUT_KEY,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_REST,
  INPUT_STOP_CHAIN,
  INPUT_TOP,
  REFERENCE_COUNTS,
} from '../../../firmware/wire/layout.gen.js';
import { type Random, StandoffError } from '../../base/index.js';
import type { Controller } from '../controller/index.js';

const POWER_UP_TICKS = 50;
const QUIET_COUNTS = 124;
const HIGHEST_COUNT = 4095;

/**
 * Inputs without sense, for comparing one engine with another: lines that flip, wild readings and steps. A sound power-up
 * first, then most of the time what lets a cut go on; now and then everything is thrown over.
 */
export class ArbitraryInputs {
  private tick = 0;
  private usual_counts = QUIET_COUNTS;

  constructor(private readonly random: Random) {}

  /** Draws the inputs of the next tick. */
  draw(controller: Controller): void {
    const { random } = this;
    if (this.tick++ < POWER_UP_TICKS) controller.digital_inputs = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;
    else if (random.chance(0.005)) controller.digital_inputs = random.next_u32() & 1023;
    if (random.chance(0.01))
      controller.digital_inputs |= INPUT_KEY | INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_REQUEST;
    if (random.chance(0.005)) controller.digital_inputs ^= random.chance(0.5) ? INPUT_RESET | INPUT_REQUEST : INPUT_KEY;
    controller.digital_inputs &= ~INPUT_REST;
    if (random.chance(0.002)) controller.digital_inputs ^= INPUT_RELAY;
    if (random.chance(0.001)) controller.digital_inputs |= INPUT_REST;
    if (random.chance(0.002))
      controller.reference = random.chance(0.7) ? REFERENCE_COUNTS : random.next_u32() & HIGHEST_COUNT;
    if (random.chance(0.003)) this.usual_counts = random.chance(0.5) ? QUIET_COUNTS : random.between(0, HIGHEST_COUNT);
    for (let k = 0; k < controller.readings.length; k++) {
      controller.readings[k] = random.chance(0.01) ? random.next_u32() : this.usual_counts + random.between(-60, 60);
    }
    controller.x_steps = random.chance(0.01) ? random.next_u32() : Math.floor(random.between(-12, 12));
    controller.y_steps = random.chance(0.01) ? random.next_u32() : Math.floor(random.between(-12, 12));
  }
}

/** A hand at the box: at this time the named line goes to this state. */
export interface OperatorEvent {
  readonly at_s: number;
  readonly line: OperatorLine;
  readonly on: boolean;
}

/** `request` withdraws (off) or gives back (on) the motion controller's torch request on its way to the box. */
export const OPERATOR_LINES = ['key', 'request', 'stop-chain', 'hold', 'reset'] as const;
/** A line that an operator can turn. */
export type OperatorLine = (typeof OPERATOR_LINES)[number];

/** What an operator does who only turns the key on, early enough for a table to start, and lets the program run. */
export const PLAIN_OPERATOR: readonly OperatorEvent[] = [{ at_s: 0.2, line: 'key', on: true }];

/** Plays the operator's events; `lines` holds the bits that belong to the operator. */
export class Operator {
  digital_inputs = INPUT_STOP_CHAIN;
  /** The request line is let through to the box. */
  request_through = true;
  private next = 0;
  private readonly events: readonly OperatorEvent[];

  /** @throws StandoffError `operator-line` */
  constructor(events: readonly OperatorEvent[]) {
    for (const event of events) refuseOtherLine(event);
    this.events = [...events].sort((a, b) => a.at_s - b.at_s);
  }

  /** Tick of the next event; Infinity after the last. */
  get next_tick(): number {
    return (this.events[this.next]?.at_s ?? Infinity) * 1000;
  }

  /** Brings the lines up to this tick. */
  advance(tick: number): void {
    while (this.next < this.events.length && this.events[this.next].at_s * 1000 <= tick) {
      this.apply(this.events[this.next]);
      this.next++;
    }
  }

  private apply(event: OperatorEvent): void {
    if (event.line === 'request') {
      this.request_through = event.on;
      return;
    }
    const bit = BITS[event.line];
    this.digital_inputs = event.on ? this.digital_inputs | bit : this.digital_inputs & ~bit;
  }
}

const BITS = { key: INPUT_KEY, 'stop-chain': INPUT_STOP_CHAIN, hold: INPUT_HOLD, reset: INPUT_RESET } as const;

/** A file is checked by its schema; this is for events that a program gives. */
function refuseOtherLine({ line, at_s }: OperatorEvent): void {
  if (OPERATOR_LINES.includes(line)) return;
  const what = `the operator turns ${String(line)} at ${at_s} s, which is none of their lines`;
  throw new StandoffError('operator-line', what, `give one of ${OPERATOR_LINES.join(', ')}`);
}

import { INPUT_HOLD, INPUT_KEY, INPUT_RESET, INPUT_STOP_CHAIN } from '../../../firmware/wire/layout.gen.js';
import { StandoffError } from '../../base/index.js';

/** A hand at the box: at this time the named line goes to this state. */
export interface OperatorEvent {
  /** From power-up, s. */
  readonly at_s: number;
  readonly line: OperatorLine;
  readonly on: boolean;
}

/** `request` withdraws (off) or gives back (on) the motion controller's torch request on its way to the box. */
export type OperatorLine = 'key' | 'request' | 'stop-chain' | 'hold' | 'reset';

/** Every line that an operator can turn. */
export const OPERATOR_LINES: readonly OperatorLine[] = ['key', 'request', 'stop-chain', 'hold', 'reset'];

/** Time from power-up until the operator turns the key on, when no events are given, s. */
const KEY_AT_S = 0.2;

/** What an operator does who only turns the key on and lets the program run. */
export const PLAIN_OPERATOR: readonly OperatorEvent[] = [{ at_s: KEY_AT_S, line: 'key', on: true }];

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

  /** Brings the lines up to this tick. */
  advance(tick: number): void {
    while (this.next < this.events.length && this.events[this.next]!.at_s * 1000 <= tick) {
      this.apply(this.events[this.next]!);
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

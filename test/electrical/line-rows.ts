import { PIN_ROWS } from '../../firmware/ports/rp2040/board-rows.js';
import * as layout from '../../firmware/wire/layout.gen.js';
import type { Wire } from './lines-trial.js';

/** One wire, contact or isolator of the table in hardware-notes/single-faults.md. */
export interface LineRow {
  /** Pin that it belongs to. */
  readonly pin: string;
  /** How it fails, in words. */
  readonly failure: string;
  readonly wire: Wire;
}

const BITS = layout as unknown as Readonly<Record<string, number>>;
const bitOf = (pin: string): number => BITS[PIN_ROWS.find(({ name }) => name === pin)!.carries];

const input = (pin: string, open = 'wire open', shorted = 'contact bridged or welded'): LineRow[] => [
  { pin, failure: open, wire: { lines_off: bitOf(pin) } },
  { pin, failure: shorted, wire: { lines_on: bitOf(pin) } },
];
const output = (pin: string, low: string, high: string): LineRow[] => [
  { pin, failure: low, wire: { drives_off: bitOf(pin) } },
  { pin, failure: high, wire: { drives_on: bitOf(pin) } },
];

const none = () => 0;
const up = (steps: number) => Math.abs(steps);
const down = (steps: number) => -Math.abs(steps);

/** Every pin that the simulated chain has, with its two failures. */
export const LINE_ROWS: readonly LineRow[] = [
  ...input('KEY'),
  ...input('REQUEST'),
  ...input('STOP_CHAIN'),
  ...input('TOUCH'),
  ...input('BREAKAWAY'),
  ...input('TOP'),
  ...input('HOLD'),
  ...input('SUPPLY_CONTACT'),
  ...input('RESET'),
  { pin: 'X_STEP', failure: 'wire open', wire: { x_steps: none } },
  { pin: 'X_DIRECTION', failure: 'stuck high', wire: { x_steps: up } },
  { pin: 'X_DIRECTION', failure: 'stuck low', wire: { x_steps: down } },
  { pin: 'Y_STEP', failure: 'wire open', wire: { y_steps: none } },
  { pin: 'Y_DIRECTION', failure: 'stuck high', wire: { y_steps: up } },
  { pin: 'Y_DIRECTION', failure: 'stuck low', wire: { y_steps: down } },
  ...output('TRIGGER', 'no pulses get out', 'relay pulled in without pulses'),
  { pin: 'Z_STEP', failure: 'wire open', wire: { z_steps: none } },
  { pin: 'Z_DIRECTION', failure: 'stuck high', wire: { z_steps: up } },
  { pin: 'Z_DIRECTION', failure: 'stuck low', wire: { z_steps: down } },
  ...output('Z_OWNED', 'stuck low', 'stuck high'),
  ...output('MOTION_PERMIT', 'wire open', 'stuck high'),
  ...output('LATCHED_STOP', 'never set', 'always set'),
];

/** Pins that the simulated chain does not have: the board's own code or a person watches them. */
export const NOT_IN_THE_CHAIN = ['LINK_TX', 'LINK_RX', 'LAMP', 'LED', 'RELAY', 'ARC_VOLTAGE', 'REFERENCE'];

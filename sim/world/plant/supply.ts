import type { MachineConfig } from './config.gen.js';

/** From the trigger output to the supply: the relay with its delays, the torch's own trigger, a latch in the supply. */
export class Firing {
  /** 1 while the relay's contact is closed. */
  relay = 0;
  /** 1 while the supply is asked to burn. */
  call = 0;
  /** Faults, set by the world. */
  welded = 0;
  latched = 0;
  hand = 0;

  private waited_ms = 0;
  private pulled = 0;
  private readonly close_ms: number;
  private readonly release_ms: number;
  private readonly latching: number;

  constructor(machine: MachineConfig) {
    this.close_ms = machine.firing.relay_close_ms;
    this.release_ms = machine.firing.relay_release_ms;
    this.latching = machine.supply.trigger_latching ? 1 : 0;
  }

  /** One millisecond. @param trigger the box's output; @param burning 1 while the arc burns on the work. */
  advance(trigger: number, burning: number): void {
    const wanted = trigger !== 0 ? 1 : 0;
    if (wanted === this.relay) {
      this.waited_ms = 0;
    } else if (wanted === 1 || this.welded === 0) {
      if (this.waited_ms >= (wanted === 1 ? this.close_ms : this.release_ms)) {
        this.relay = wanted;
        this.waited_ms = 0;
      } else {
        this.waited_ms++;
      }
    }
    const pulled = this.relay | this.hand;
    if (this.latching !== 0 || this.latched !== 0) {
      // A latch takes the first pull to go on, and needs a second pull to go off while the arc burns.
      if (pulled > this.pulled) this.call = this.call !== 0 && burning !== 0 ? 0 : 1;
      else if (pulled === 0 && burning === 0) this.call = 0;
    } else {
      this.call = pulled;
    }
    this.pulled = pulled;
  }
}

/** What the input current depends on. */
export interface InputPower {
  readonly mains_V: number;
  readonly phases: 1 | 3;
  readonly efficiency: number;
  readonly power_factor: number;
}

/**
 * Current from each conductor of the mains, A: arc power over efficiency, power factor and mains voltage
 * (times √3 for three phases, the voltage being that between phases).
 */
export function inputCurrent_A(true_V: number, cut_A: number, input: InputPower): number {
  const volts = input.mains_V * (input.phases === 3 ? Math.sqrt(3) : 1);
  return (true_V * cut_A) / (input.efficiency * input.power_factor * volts);
}

const WINDOW_S = 600;

/** Arc time within the last ten minutes, in steps of one second. */
export class DutyWindow {
  /** Duty cycle over the last ten minutes, %: arc time over 600 s, also before ten minutes have gone by. */
  percent = 0;
  private readonly seconds = new Uint16Array(WINDOW_S);
  private position = 0;
  private total_ms = 0;

  /** One second has gone by. @param on_ms arc time within it, 0…1000. */
  second(on_ms: number): void {
    this.total_ms += on_ms - this.seconds[this.position];
    this.seconds[this.position] = on_ms;
    this.position = (this.position + 1) % WINDOW_S;
    this.percent = this.total_ms / (WINDOW_S * 10);
  }
}

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

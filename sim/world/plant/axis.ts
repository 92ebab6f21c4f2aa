import type { MachineConfig } from './config.gen.js';
import { SIGNAL } from './signals.js';

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;

/** The Z axis: a step motor that follows only what it can, play, stops, the top switch. */
export class Axis {
  /** 1 when the carriage stands at or above the top switch. */
  top = 0;
  /** Steps that the motor did not make as commanded, and steps that arrived while the box did not own Z. */
  lost_steps = 0;
  ignored_steps = 0;
  /** Faults, set by the world. */
  reversed = 0;
  unpowered = 0;
  lost_share = 0;

  /** Steps a tick that the motor makes now. */
  private speed = 0;
  private lost_part = 0;
  private readonly mm_per_step: number;
  private readonly most_steps: number;
  private readonly jump_steps: number;
  private readonly half_backlash_mm: number;
  private readonly z_top_mm: number;
  private readonly stop_above_mm: number;
  private readonly stop_below_mm: number;
  private readonly fall_mm: number;

  constructor(machine: MachineConfig, signals: Float64Array) {
    const { axis } = machine;
    signals[AT.carriage_mm] = axis.z_start_mm;
    signals[AT.motor_mm] = axis.z_start_mm;
    this.mm_per_step = 1 / axis.steps_per_mm;
    this.most_steps = (axis.velocity_mm_s * axis.steps_per_mm) / 1000;
    this.jump_steps = ((axis.start_stop_mm_s + axis.acceleration_mm_s2 / 1000) * axis.steps_per_mm) / 1000;
    this.half_backlash_mm = axis.backlash_um / 2000;
    this.z_top_mm = axis.z_top_mm;
    this.stop_above_mm = axis.z_top_mm + axis.overtravel_mm;
    this.stop_below_mm = axis.z_top_mm - axis.travel_mm;
    this.fall_mm = axis.fall_mm_s / 1000;
    this.top = axis.z_start_mm >= axis.z_top_mm ? 1 : 0;
  }

  /**
   * One millisecond: motor and carriage move in the signals.
   * @param steps signed, up positive; @param owned 0: the box's steps do not reach the motor
   */
  advance(signals: Float64Array, steps: number, owned: number): void {
    if (owned === 0 && steps !== 0) {
      this.ignored_steps += steps < 0 ? -steps : steps;
      steps = 0;
    }
    let motor_mm = signals[AT.motor_mm]!;
    if (this.unpowered !== 0) {
      this.lost_steps += steps < 0 ? -steps : steps;
      this.speed = 0;
      motor_mm -= this.fall_mm;
    } else if (steps !== 0 || this.speed !== 0) {
      motor_mm += this.followed(this.reversed !== 0 ? -steps : steps) * this.mm_per_step;
    } else {
      return;
    }
    if (motor_mm > this.stop_above_mm) motor_mm = this.stopAt(this.stop_above_mm, motor_mm - this.stop_above_mm);
    else if (motor_mm < this.stop_below_mm) {
      motor_mm = this.stopAt(this.stop_below_mm, this.stop_below_mm - motor_mm);
    }
    signals[AT.motor_mm] = motor_mm;
    let carriage_mm = signals[AT.carriage_mm]!;
    carriage_mm = Math.max(motor_mm - this.half_backlash_mm, Math.min(motor_mm + this.half_backlash_mm, carriage_mm));
    signals[AT.carriage_mm] = carriage_mm;
    this.top = carriage_mm >= this.z_top_mm ? 1 : 0;
  }

  /** The steps that the motor makes of those commanded; too sudden a stop makes it overrun. */
  private followed(wanted: number): number {
    let made = wanted;
    const highest = Math.floor(Math.min(this.speed + this.jump_steps, this.most_steps)) | 0;
    const lowest = Math.ceil(Math.max(this.speed - this.jump_steps, -this.most_steps)) | 0;
    if (made > highest) made = highest;
    else if (made < lowest) made = lowest;
    this.speed = made;
    if (this.lost_share > 0) {
      this.lost_part += (made < 0 ? -made : made) * this.lost_share;
      const whole = Math.floor(this.lost_part) | 0;
      this.lost_part -= whole;
      made += made < 0 ? whole : -whole;
    }
    this.lost_steps += wanted > made ? wanted - made : made - wanted;
    return made;
  }

  /** A travel stop: what the motor would have gone beyond it is lost. */
  private stopAt(stop_mm: number, beyond_mm: number): number {
    this.speed = 0;
    if (this.unpowered === 0) this.lost_steps += Math.round(beyond_mm / this.mm_per_step);
    return stop_mm;
  }
}

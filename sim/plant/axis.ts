import type { MachineConfig } from './machine-config.js';

/** The Z axis: a step motor that follows only what it can, play, stops, the top switch. */
export class Axis {
  /** Height of the carriage, as the height of a torch tip that hangs free, mm above the sheet datum. */
  carriage_mm: number;
  /** 1 when the carriage stands at or above the top switch. */
  top = 0;
  /** Steps that the motor did not make as commanded, and steps that arrived while the box did not own Z. */
  lost_steps = 0;
  ignored_steps = 0;
  /** Faults, set by the world. */
  reversed = 0;
  unpowered = 0;
  lost_share = 0;

  private motor_mm: number;
  /** Steps a tick that the motor makes now. */
  private speed = 0;
  private lost_part = 0;
  private readonly mm_per_step: number;
  private readonly most_steps: number;
  private readonly jump_steps: number;
  private readonly half_play_mm: number;
  private readonly z_top_mm: number;
  private readonly stop_above_mm: number;
  private readonly stop_below_mm: number;
  private readonly fall_mm: number;

  constructor(machine: MachineConfig) {
    const { axis } = machine;
    this.carriage_mm = axis.z_start_mm;
    this.motor_mm = axis.z_start_mm;
    this.mm_per_step = 1 / axis.steps_per_mm;
    this.most_steps = (axis.velocity_mm_s * axis.steps_per_mm) / 1000;
    this.jump_steps = ((axis.start_stop_mm_s + axis.acceleration_mm_s2 / 1000) * axis.steps_per_mm) / 1000;
    this.half_play_mm = axis.backlash_um / 2000;
    this.z_top_mm = axis.z_top_mm;
    this.stop_above_mm = axis.z_top_mm + axis.overtravel_mm;
    this.stop_below_mm = axis.z_top_mm - axis.travel_mm;
    this.fall_mm = axis.fall_mm_s / 1000;
    this.top = this.carriage_mm >= this.z_top_mm ? 1 : 0;
  }

  /** One millisecond. @param steps signed, up positive; @param owned 0: the box's steps do not reach the motor. */
  advance(steps: number, owned: number): void {
    if (owned === 0 && steps !== 0) {
      this.ignored_steps += steps < 0 ? -steps : steps;
      steps = 0;
    }
    if (this.unpowered !== 0) {
      this.lost_steps += steps < 0 ? -steps : steps;
      this.speed = 0;
      this.motor_mm -= this.fall_mm;
    } else if (steps !== 0 || this.speed !== 0) {
      this.motor_mm += this.followed(this.reversed !== 0 ? -steps : steps) * this.mm_per_step;
    } else {
      return;
    }
    this.stopAtEnds();
    const lead_mm = this.motor_mm - this.carriage_mm;
    if (lead_mm > this.half_play_mm) this.carriage_mm = this.motor_mm - this.half_play_mm;
    else if (lead_mm < -this.half_play_mm) this.carriage_mm = this.motor_mm + this.half_play_mm;
    this.top = this.carriage_mm >= this.z_top_mm ? 1 : 0;
  }

  /** The steps that the motor makes of those commanded; too sudden a stop makes it overrun. */
  private followed(wanted: number): number {
    let made = wanted;
    const highest = Math.min(this.speed + this.jump_steps, this.most_steps);
    const lowest = Math.max(this.speed - this.jump_steps, -this.most_steps);
    if (made > highest) made = Math.floor(highest);
    else if (made < lowest) made = Math.ceil(lowest);
    this.speed = made;
    if (this.lost_share > 0) {
      this.lost_part += (made < 0 ? -made : made) * this.lost_share;
      const whole = Math.floor(this.lost_part);
      this.lost_part -= whole;
      made += made < 0 ? whole : -whole;
    }
    this.lost_steps += wanted > made ? wanted - made : made - wanted;
    return made;
  }

  private stopAtEnds(): void {
    let beyond_mm = 0;
    if (this.motor_mm > this.stop_above_mm) beyond_mm = this.motor_mm - this.stop_above_mm;
    else if (this.motor_mm < this.stop_below_mm) beyond_mm = this.motor_mm - this.stop_below_mm;
    if (beyond_mm === 0) return;
    this.motor_mm -= beyond_mm;
    this.speed = 0;
    if (this.unpowered === 0) {
      this.lost_steps += Math.round((beyond_mm < 0 ? -beyond_mm : beyond_mm) / this.mm_per_step);
    }
  }
}

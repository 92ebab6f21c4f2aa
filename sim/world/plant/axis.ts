// One part of the world, a file: the Z axis and the head that hangs on it.
import { Random } from '../../base/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { SIGNAL, STREAM } from './signals.js';

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;

/**
 * The floating head with its touch-off switch, in a breakaway holder, over a springy sheet.
 *
 * Going down, the tip meets the sheet; the sheet gives until it carries the head's weight; then the head
 * lifts in its float, and the switch closes at the float travel. Going up, the switch opens when the tip
 * hangs free again, so that neither the spring of the sheet nor the float travel is in that height.
 */
export class Head {
  /** 1 while the tip rests on something. */
  touching = 0;
  /** The switches: 1 = closed; breakaway 1 = head in its holder. */
  touch = 0;
  breakaway = 1;
  /** Faults, set by the world. */
  never_closes = 0;
  stuck = 0;
  stuck_state = 0;

  private pressed = 0;
  private bounce_left = 0;
  private readonly random: Random;
  private readonly float_travel_mm: number;
  private readonly float_max_mm: number;
  private readonly weight_N: number;
  private readonly bounce_ms: number;
  private readonly breakaway_mm: number;
  private readonly compliance_mm: number;
  private readonly per_pitch: number;
  private readonly thickness_mm: number;

  constructor(machine: MachineConfig, world: WorldConfig, seed: number) {
    this.random = new Random(seed, STREAM.bounce);
    this.float_travel_mm = machine.head.float_travel_mm;
    this.float_max_mm = machine.head.float_max_mm;
    this.weight_N = machine.head.weight_N;
    this.bounce_ms = machine.head.bounce_ms;
    this.breakaway_mm = machine.head.breakaway_mm;
    this.compliance_mm = world.sheet.compliance_mm_per_N * this.weight_N;
    this.per_pitch = 1 / world.sheet.slat_pitch_mm;
    this.thickness_mm = machine.table.sheet_thickness_mm;
  }

  /**
   * One millisecond: true tip, true surface and standoff go into the signals.
   * @param off_sheet 1: the slats, one thickness lower, are what the tip meets; @param moving 1 while X or Y moves.
   */
  advance(signals: Float64Array, off_sheet: number, moving: number): void {
    const carriage_mm = signals[AT.carriage_mm];
    const surface_mm = signals[AT.surface_mm];
    const rest_mm = off_sheet !== 0 ? surface_mm - this.thickness_mm : surface_mm;
    if (carriage_mm > rest_mm) {
      this.touching = 0;
      signals[AT.torch_mm] = carriage_mm;
      signals[AT.plate_mm] = surface_mm;
      signals[AT.standoff_mm] = Math.max(0, carriage_mm - surface_mm);
      if (this.pressed !== 0) this.change(0);
    } else {
      this.touching = 1;
      this.press(signals, rest_mm, off_sheet, moving);
    }
    this.switchState();
  }

  private press(signals: Float64Array, rest_mm: number, off_sheet: number, moving: number): void {
    const overlap_mm = rest_mm - signals[AT.carriage_mm];
    const turns = signals[AT.x_mm] * this.per_pitch;
    const between = turns - Math.floor(turns);
    // The sheet's give between two slats as a parabola: none on a slat, all half-way.
    const full_mm = off_sheet !== 0 ? 0 : this.compliance_mm * 4 * between * (1 - between);
    const give_mm = Math.min(overlap_mm, full_mm);
    const lift_mm = overlap_mm - give_mm;
    signals[AT.torch_mm] = rest_mm - give_mm;
    signals[AT.plate_mm] = off_sheet !== 0 ? signals[AT.surface_mm] : rest_mm - give_mm;
    signals[AT.standoff_mm] = 0;
    if (this.pressed === 0 && lift_mm >= this.float_travel_mm) this.change(1);
    if (lift_mm >= this.float_max_mm || (moving !== 0 && overlap_mm >= this.breakaway_mm)) this.breakaway = 0;
  }

  private change(state: number): void {
    this.pressed = state;
    this.bounce_left = this.bounce_ms;
  }

  private switchState(): void {
    this.touch = this.pressed;
    if (this.bounce_left > 0) {
      this.bounce_left--;
      // The first instant always shows the new state; the last one settles it.
      if (this.bounce_left > 0 && this.bounce_left < this.bounce_ms - 1 && this.random.chance(0.5)) {
        this.touch = 1 - this.touch;
      }
    }
    if (this.never_closes !== 0) this.touch = 0;
    if (this.stuck !== 0) this.touch = this.stuck_state;
  }
}

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
    let motor_mm = signals[AT.motor_mm];
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
    let carriage_mm = signals[AT.carriage_mm];
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

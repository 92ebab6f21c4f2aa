import { Rotation } from './angle.js';
import { isMove, type PlanColumns } from './columns.js';
import { BlockKind } from './program.js';

/**
 * The step of a plan that is under way, copied out of its columns: place and direction by distance from its
 * start, speed by time. Only additions, multiplications and `Rotation`, so every engine gives the same bits.
 */
export class CurrentStep {
  index = -1;
  kind: number = BlockKind.end;
  line = 0;
  duration_s = 0;
  /** Time and path with the torch asked for at the start of the step, from the start of the program. */
  start_s = 0;
  start_path_mm = 0;
  programmed_mm_s = 0;
  length_mm = 0;
  exit_mm_s = 0;

  /** Results of `follow` and `place`. */
  travelled_mm = 0;
  speed_mm_s = 0;
  x_mm = 0;
  y_mm = 0;
  dx = 1;
  dy = 0;

  private readonly rotation = new Rotation();
  private entry_mm_s = 0;
  private peak_mm_s = 0;
  private accelerate_s = 0;
  private cruise_end_s = 0;
  private accelerate_mm = 0;
  private start_x_mm = 0;
  private start_y_mm = 0;
  private start_dx = 1;
  private start_dy = 0;
  /** Arcs: +1 counter-clockwise, −1 clockwise; 0 for straight moves. */
  private turn = 0;
  private centre_x_mm = 0;
  private centre_y_mm = 0;
  private radius_mm = 0;
  private radius_change = 0;
  private sweep_rad_per_mm = 0;

  constructor(
    private readonly steps: PlanColumns,
    private readonly acceleration_mm_s2: number,
    private readonly braking_mm_s2: number,
  ) {}

  enter(index: number): void {
    const steps = this.steps;
    this.index = index;
    this.kind = steps.kind[index];
    this.line = steps.line[index];
    this.start_s = steps.start_s[index];
    this.duration_s = steps.duration_s[index];
    if (!isMove(this.kind)) return;
    this.programmed_mm_s = steps.programmed_mm_s[index];
    this.length_mm = steps.length_mm[index];
    this.start_path_mm = steps.start_path_mm[index];
    this.entry_mm_s = steps.entry_mm_s[index];
    this.peak_mm_s = steps.peak_mm_s[index];
    this.exit_mm_s = steps.exit_mm_s[index];
    this.accelerate_s = steps.accelerate_s[index];
    this.cruise_end_s = this.accelerate_s + steps.cruise_s[index];
    this.accelerate_mm = (this.entry_mm_s + this.peak_mm_s) * 0.5 * this.accelerate_s;
    this.start_x_mm = steps.start_x_mm[index];
    this.start_y_mm = steps.start_y_mm[index];
    this.start_dx = steps.start_dx[index];
    this.start_dy = steps.start_dy[index];
    this.dx = this.start_dx;
    this.dy = this.start_dy;
    const sweep_rad = steps.sweep_rad[index];
    this.turn = sweep_rad === 0 ? 0 : sweep_rad > 0 ? 1 : -1;
    if (this.turn === 0) return;
    this.centre_x_mm = steps.centre_x_mm[index];
    this.centre_y_mm = steps.centre_y_mm[index];
    this.radius_mm = steps.radius_mm[index];
    this.radius_change = steps.radius_change_mm[index] / this.length_mm;
    this.sweep_rad_per_mm = sweep_rad / this.length_mm;
  }

  /** Speed and place at a time in the move; while braking counted from its end, so that it ends on the spot. */
  follow(time_s: number): void {
    if (time_s < this.accelerate_s) {
      this.speed_mm_s = this.entry_mm_s + this.acceleration_mm_s2 * time_s;
      this.place((this.entry_mm_s + this.speed_mm_s) * 0.5 * time_s);
    } else if (time_s < this.cruise_end_s) {
      this.speed_mm_s = this.peak_mm_s;
      this.place(this.accelerate_mm + this.peak_mm_s * (time_s - this.accelerate_s));
    } else {
      const rest_s = this.duration_s - time_s;
      this.speed_mm_s = this.exit_mm_s + this.braking_mm_s2 * rest_s;
      this.place(this.length_mm - (this.exit_mm_s + this.speed_mm_s) * 0.5 * rest_s);
    }
  }

  /** Place and direction at a distance from the start of the move. */
  place(travelled_mm: number): void {
    this.travelled_mm = travelled_mm;
    if (this.turn === 0) {
      this.x_mm = this.start_x_mm + this.start_dx * travelled_mm;
      this.y_mm = this.start_y_mm + this.start_dy * travelled_mm;
      return;
    }
    const rotation = this.rotation;
    rotation.set(this.sweep_rad_per_mm * travelled_mm);
    this.dx = this.start_dx * rotation.cosine - this.start_dy * rotation.sine;
    this.dy = this.start_dx * rotation.sine + this.start_dy * rotation.cosine;
    // The radius stands a quarter turn behind the direction of travel.
    const radius_mm = (this.radius_mm + this.radius_change * travelled_mm) * this.turn;
    this.x_mm = this.centre_x_mm + radius_mm * this.dy;
    this.y_mm = this.centre_y_mm - radius_mm * this.dx;
  }
}

// The figures of a cut, which no requirement needs; apart from judge.ts, which joins requirements and figures.
import { MODE_FOLLOW, MODE_HOLD, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import { FLAG_ACCELERATION_LIMITED, FLAG_VELOCITY_LIMITED, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { DiveMeter, DutyMeter } from './meters.js';
import type { Stretches } from './stretches.js';
import { type ContourFigures, faultName, type RunFigures, Tally } from './tally.js';

const NOTHING_FOUND = { found_target_V: null, found_deviation_mm: null, found_feed_effect_V: null };

/** The figures of a run, measured as it goes by; memory grows only with the number of contours and faults. */
export class Figures {
  private readonly cut_height_mm: number;
  private readonly tolerance_mm: number;
  private readonly dives: DiveMeter;
  private readonly duty = new DutyMeter();
  /** The finished contours together, and the one that is being cut. */
  private readonly run = new Tally();
  private part = new Tally();
  private readonly contours: ContourFigures[] = [];
  private contour = -1;
  private contour_line = 0;

  private ticks = 0;
  private follow_ticks = 0;
  private out_ticks = 0;
  private cut_ticks = 0;
  private cut_square_mm2 = 0;
  private reversals = 0;
  private direction = 0;
  private acceleration_ticks = 0;
  private velocity_ticks = 0;
  private path_before_mm = Number.NaN;
  private was_burning = 0;
  private hold_before = 0;
  private fault_before = 0;
  private contacts = 0;
  private lost_steps = 0;
  private release_since = -1;
  private longest_release_ms = -1;
  private found: Pick<RunFigures, 'found_target_V' | 'found_deviation_mm' | 'found_feed_effect_V'> = NOTHING_FOUND;

  constructor(context: RequirementContext) {
    this.cut_height_mm = context.parameters.cut_height_mm;
    this.tolerance_mm = context.goals.following_p999_mm;
    this.dives = new DiveMeter(this.cut_height_mm);
  }

  /** Takes in the next block of the run, with its stretches. */
  watch(block: TraceBlock, s: Stretches): void {
    if (block.count === 0) return;
    if (Number.isNaN(this.path_before_mm)) this.path_before_mm = block.path_mm[0];
    for (let i = 1; i <= s.count; i++) this.stretch(block, s, i);
    this.ticks += block.count;
    this.contacts = block.contacts[block.count - 1];
    this.lost_steps = Math.abs(block.lost_steps[block.count - 1]);
    this.dives.watch(block, s);
  }

  private stretch(block: TraceBlock, s: Stretches, i: number): void {
    const from = s.from[i];
    const end = s.from[i + 1];
    const length = end - from;
    const tick = block.first_tick + from;
    if (s.contour[i] !== this.contour) {
      this.endContour();
      this.contour = s.contour[i];
      this.contour_line = block.line[from];
    }
    const part = this.part;
    const path_mm = block.path_mm[end - 1] - this.path_before_mm;
    this.path_before_mm = block.path_mm[end - 1];
    const burning = s.burning[i];
    const mode = s.mode[i];
    const cutting = mode >= MODE_SETTLE && mode <= MODE_HOLD;
    if (burning) {
      if (!this.was_burning) part.starts++;
      part.arc_ticks += length;
      this.duty.add(tick, length);
      if (cutting) part.length_mm += path_mm;
    }
    this.was_burning = burning;
    const hold = s.hold[i];
    if (hold !== 0) {
      if (hold !== this.hold_before) part.hold_count[hold]++;
      part.hold_ticks[hold] += length;
      part.hold_mm[hold] += path_mm;
    }
    this.hold_before = hold;
    this.event(block, s, i);
    if (!cutting) return;
    this.found = {
      found_target_V: block.found_target_V[end - 1],
      found_deviation_mm: block.found_deviation_mm[end - 1],
      found_feed_effect_V: block.feed_effect_V[end - 1],
    };
    const over_sheet = s.off_sheet[i] === 0;
    if (over_sheet) this.cut(block, from, end, burning !== 0);
    if (mode !== MODE_FOLLOW) return;
    this.chatter(block, from, end, s.mode[i - 1] !== MODE_FOLLOW);
    if (over_sheet && s.crossing[i] === 0) this.follow(block, from, end);
  }

  /** Faults, and the release of the relay: at the edges only. */
  private event(block: TraceBlock, s: Stretches, i: number): void {
    const row = s.from[i];
    const tick = block.first_tick + row;
    const code = s.fault[i];
    if (code !== 0 && code !== this.fault_before) {
      this.part.faults.push({
        tick,
        code,
        name: faultName(code),
        measured_V: block.measured_V[row],
        contour: this.contour,
        line: block.line[row],
      });
    }
    this.fault_before = code;
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0) this.release_since = -1;
    else if ((s.digital_outputs[i - 1] & OUTPUT_TRIGGER) !== 0) this.release_since = tick;
    if (this.release_since < 0) return;
    const elapsed_ms = (s.relay[i] === 0 ? tick : block.first_tick + s.from[i + 1]) - this.release_since;
    if (elapsed_ms > this.longest_release_ms) this.longest_release_ms = elapsed_ms;
    if (s.relay[i] === 0) this.release_since = -1;
  }

  /** Settle, follow and hold over the sheet. */
  private cut(block: TraceBlock, from: number, end: number, burning: boolean): void {
    const standoff_mm = block.standoff_mm;
    const cut_height_mm = this.cut_height_mm;
    let square = this.cut_square_mm2;
    let least = Number.POSITIVE_INFINITY;
    for (let row = from; row < end; row++) {
      const standoff = standoff_mm[row];
      const error = standoff - cut_height_mm;
      square += error * error;
      if (standoff < least) least = standoff;
    }
    this.cut_square_mm2 = square;
    this.cut_ticks += end - from;
    if (burning && least < this.part.least_standoff_mm) this.part.least_standoff_mm = least;
  }

  private follow(block: TraceBlock, from: number, end: number): void {
    const standoff_mm = block.standoff_mm;
    const { cut_height_mm, tolerance_mm, part } = this;
    const sizes = part.sizes;
    let sum = part.sum_mm;
    let square = part.square_mm2;
    let worst = part.worst_mm;
    let out = 0;
    for (let row = from; row < end; row++) {
      const error = standoff_mm[row] - cut_height_mm;
      const size = error < 0 ? -error : error;
      sum += error;
      square += error * error;
      sizes.add(size);
      if (size > worst) worst = size;
      if (size > tolerance_mm) out++;
    }
    part.sum_mm = sum;
    part.square_mm2 = square;
    part.worst_mm = worst;
    part.ticks += end - from;
    this.out_ticks += out;
  }

  private chatter(block: TraceBlock, from: number, end: number, entered: boolean): void {
    const { z_steps, flags } = block;
    let direction = entered ? 0 : this.direction;
    let reversals = 0;
    let acceleration = 0;
    let velocity = 0;
    for (let row = from; row < end; row++) {
      const steps = z_steps[row];
      const flag = flags[row];
      if (steps * direction < 0) reversals++;
      if (steps !== 0) direction = steps;
      acceleration += flag & FLAG_ACCELERATION_LIMITED;
      velocity += flag & FLAG_VELOCITY_LIMITED;
    }
    this.direction = direction;
    this.reversals += reversals;
    this.acceleration_ticks += acceleration / FLAG_ACCELERATION_LIMITED;
    this.velocity_ticks += velocity / FLAG_VELOCITY_LIMITED;
    this.follow_ticks += end - from;
  }

  private endContour(): void {
    if (this.contour >= 0) this.contours.push(this.contourFigures());
    this.run.merge(this.part);
    this.part = new Tally();
  }

  private contourFigures(): ContourFigures {
    const { contour, contour_line: line, part } = this;
    return { contour, line, length_mm: part.length_mm, ...part.figures() };
  }

  /** The figures so far; at any time. */
  figures(): RunFigures {
    const all = new Tally();
    all.merge(this.run);
    all.merge(this.part);
    const share = (ticks: number) => (this.follow_ticks > 0 ? ticks / this.follow_ticks : null);
    return {
      ...all.figures(),
      standoff_error_p999_mm: all.sizes.quantile_mm(0.999),
      cut_error_rms_mm: this.cut_ticks > 0 ? Math.sqrt(this.cut_square_mm2 / this.cut_ticks) : null,
      following_s: all.ticks / 1000,
      out_of_tolerance_s: this.out_ticks / 1000,
      ...this.dives.figures(),
      contacts: this.contacts,
      cut_length_mm: all.length_mm,
      reversals_per_s: share(this.reversals * 1000),
      acceleration_limited_share: share(this.acceleration_ticks),
      velocity_limited_share: share(this.velocity_ticks),
      lost_steps: this.lost_steps,
      ...this.found,
      relay_release_ms: this.longest_release_ms < 0 ? null : this.longest_release_ms,
      duty_cycle: this.duty.share(),
      simulated_s: this.ticks / 1000,
      contours: this.contour >= 0 ? [...this.contours, this.contourFigures()] : [...this.contours],
    };
  }
}

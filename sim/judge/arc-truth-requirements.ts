// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { MODE_LIFT, MODE_LOWER, MODE_PIERCE, MODE_SEEK, MODE_STRIKE } from '../../firmware/wire/codes.gen.js';
import {
  FLAG_ARC_OK,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
  PROOF_BEGINS_MS,
  STROKES_MOST,
} from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { SENSING_MS } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/** Requirements 12 and 13: permit, motion, strikes and pierce by the arc that truly burns on the work. */
export const arcTruthRequirements = (context: RequirementContext): Requirement[] => [
  new PermitOverArc(context),
  new MotionOverArc(context),
  new MotionBeforePermit(context),
  new PermitWithoutArc(context),
  new ArcOnOneSpot(context),
  new StrikeCount(context),
  new StrikeTime(context),
  new PierceDwell(context),
  new PierceTime(context),
];

/** A count begins one tick late, and acts in the tick in which it is full. */
const COUNT_TICKS = 2;

class PermitOverArc extends Requirement {
  readonly name = 'permit-over-arc';
  readonly number = 12;
  readonly statement =
    'the motion permit is on only after an arc has truly burnt on the work since the trigger went on';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private burnt = false;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const fired = (s.digital_outputs[i] & ~s.digital_outputs[i - 1] & OUTPUT_TRIGGER) !== 0;
    if (fired) this.burnt = false;
    if (s.burning[i] !== 0) this.burnt = true;
    if ((s.digital_outputs[i] & OUTPUT_PERMIT) === 0) return;
    const length_ms = s.from[i + 1] - s.from[i];
    this.checked += length_ms;
    if (!this.burnt) this.add(length_ms, block.first_tick + s.from[i]);
  }
}

/** As MotionState of the table. */
const BRAKING = 3;

/**
 * Judged by the path of the table alone: it grows only while the program asks for the torch. What the box may take under a permit
 * is what permit-withdrawal allows it; without one the table is to stand, and stray_ms is what stray motion gets.
 */
class MotionOverArc extends Requirement {
  readonly name = 'motion-over-arc';
  readonly number = 12;
  readonly statement =
    'in a contour the table moves without a true arc no longer than the sensing delay, crossing_ms and arc_off_ms under a permit, and stray_ms without one, unless it brakes';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private readonly with_ms = this.context.permit_off_ms;
  private readonly without_ms = this.parameters.stray_ms + COUNT_TICKS;
  private path_mm = Number.NaN;
  private permitted_ms = 0;
  private unpermitted_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const { path_mm, table_state, first_tick } = block;
    const burning = s.burning[i] !== 0;
    const permit = (s.digital_outputs[i] & OUTPUT_PERMIT) !== 0;
    if (burning) {
      this.permitted_ms = 0;
      this.unpermitted_ms = 0;
    }
    for (let row = s.from[i]; row < s.from[i + 1]; row++) {
      const moved = path_mm[row] > this.path_mm;
      this.path_mm = path_mm[row];
      if (!moved || table_state[row] === BRAKING) continue;
      this.checked++;
      if (burning) this.note(this.with_ms, first_tick + row);
      else if (permit) this.note(this.with_ms - ++this.permitted_ms, first_tick + row);
      else this.note(this.without_ms - ++this.unpermitted_ms, first_tick + row);
    }
  }
}

/** What the table may move before its motion is a fault, ms: 5 mm at a rapid of 100 mm/s, about a torch tip's breadth. */
const BEFORE_PERMIT_MS = 50;
/** Modes from the touch-off to the motion permit. */
const BEFORE_PERMIT = (1 << MODE_SEEK) | (1 << MODE_LIFT) | (1 << MODE_STRIKE) | (1 << MODE_PIERCE) | (1 << MODE_LOWER);

/** Judged by where the table truly is: a box that has lost its step inputs must not be the judge of motion. */
class MotionBeforePermit extends Requirement {
  readonly name = 'motion-before-permit';
  readonly number = 12;
  readonly statement =
    `while the box owns Z and has not yet given the permit, X/Y motion is a fault within ${BEFORE_PERMIT_MS} ms`;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private x_mm = 0;
  private y_mm = 0;
  private moved_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const { x_mm, y_mm, table_state } = block;
    const from = s.from[i];
    const end = s.from[i + 1];
    const owned = (s.digital_outputs[i] & OUTPUT_Z_OWNED) !== 0;
    if (!owned || (BEFORE_PERMIT & (1 << s.mode[i])) === 0) {
      this.moved_ms = 0;
    } else {
      this.checked += end - from;
      let worst_row = from;
      for (let row = from; row < end; row++) {
        const moved = x_mm[row] !== this.x_mm || y_mm[row] !== this.y_mm;
        this.x_mm = x_mm[row];
        this.y_mm = y_mm[row];
        if (!moved || table_state[row] === BRAKING) continue;
        this.moved_ms++;
        worst_row = row;
      }
      this.note(BEFORE_PERMIT_MS + COUNT_TICKS - this.moved_ms, block.first_tick + worst_row);
    }
    this.x_mm = x_mm[end - 1];
    this.y_mm = y_mm[end - 1];
  }
}

/** 2.5 mm of path at 50 mm/s that are not cut: more leaves the part hanging (assumption). */
const WITHOUT_ARC_MS = 50;

/** No requirement yet: above the arc window the box waits arc_off_ms, which a kerf crossing may take. */
class PermitWithoutArc extends Requirement {
  readonly name = 'permit-without-arc';
  readonly number = 12;
  override readonly kind = 'goal';
  readonly statement = `the motion permit is on for at most ${WITHOUT_ARC_MS} ms without a true arc`;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private out_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_PERMIT) === 0) {
      this.out_ms = 0;
      return;
    }
    const length_ms = s.from[i + 1] - s.from[i];
    this.checked += length_ms;
    this.out_ms = s.burning[i] !== 0 ? 0 : this.out_ms + length_ms;
    const row = this.out_ms === 0 ? s.from[i] : s.from[i + 1] - 1;
    this.note(WITHOUT_ARC_MS - this.out_ms, block.first_tick + row);
  }
}

/** Within this distance the arc burns on one spot, mm: the breadth of a kerf. */
const SPOT_MM = 1;
/** Beside what is set, ms: half of a mains period of jitter at each of four changes of mode, rounded up. */
const SPOT_ALLOWANCE_MS = 50;

/**
 * No requirement: an arc that goes out before it is proved is struck again in every attempt. Under a permit `standstill` bounds it,
 * after trigger off voltage-falls does. Once all that a strike may wait and a proof may take is allowed in full: an arc that
 * comes at once and cannot be proved burns that long.
 */
class ArcOnOneSpot extends Requirement {
  readonly name = 'arc-on-one-spot';
  readonly number = 13;
  override readonly kind = 'goal';
  readonly statement =
    'with the trigger on and before the permit the true arc burns on one spot (1 mm), all strikes of a touch-off together, no longer than strike_ms, arc_on_ms, the longest proof, pierce_ms, the lowering and 70 ms';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private readonly longest_ms: number;
  private x_mm = 0;
  private y_mm = 0;
  private burnt_ms = 0;

  constructor(context: RequirementContext) {
    super(context);
    const p = context.parameters;
    const lowering_mm = Math.max(0, p.pierce_height_mm - p.cut_height_mm);
    const lowering_ms = 1000 * (lowering_mm / p.z_velocity_mm_s + p.z_velocity_mm_s / p.z_acceleration_mm_s2);
    const proof_ms = PROOF_BEGINS_MS + STROKES_MOST * context.stroke_ms;
    const longest_ms = p.strike_ms + p.arc_on_ms + proof_ms + p.pierce_ms + Math.ceil(lowering_ms);
    this.longest_ms = longest_ms + SENSING_MS + SPOT_ALLOWANCE_MS;
  }

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if (s.mode[i] === MODE_SEEK && s.mode[i - 1] !== MODE_SEEK) this.burnt_ms = 0;
    const fired = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0;
    if (!fired || s.burning[i] === 0 || (s.digital_outputs[i] & OUTPUT_PERMIT) !== 0) return;
    this.checked += s.from[i + 1] - s.from[i];
    for (let row = s.from[i]; row < s.from[i + 1]; row++) {
      const away_mm = Math.hypot(block.x_mm[row] - this.x_mm, block.y_mm[row] - this.y_mm);
      if (away_mm > SPOT_MM) {
        this.x_mm = block.x_mm[row];
        this.y_mm = block.y_mm[row];
        this.burnt_ms = 0;
      }
      this.note(this.longest_ms - ++this.burnt_ms, block.first_tick + row);
    }
  }
}

class StrikeCount extends Requirement {
  readonly name = 'strike-count';
  readonly number = 13;
  readonly statement = 'the trigger goes on at most once and strike_retries times for each touch-off';
  readonly unit = 'times';
  private readonly most = 1 + this.parameters.strike_retries;
  private strikes = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if (s.mode[i] === MODE_SEEK) this.strikes = 0;
    if ((s.digital_outputs[i] & ~s.digital_outputs[i - 1] & OUTPUT_TRIGGER) === 0) return;
    this.checked++;
    this.note(this.most - ++this.strikes, block.first_tick + s.from[i]);
  }
}

class StrikeTime extends Requirement {
  readonly name = 'strike-time';
  readonly number = 13;
  readonly statement =
    'a strike waits for a true arc no longer than strike_ms and two ticks, and as long as a proof goes on';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private readonly longest_ms = this.parameters.strike_ms + COUNT_TICKS;
  private readonly proof_ms = PROOF_BEGINS_MS + STROKES_MOST * this.context.stroke_ms;
  private waited_ms = 0;
  private burnt = false;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const mode = s.mode[i];
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0 || (mode !== MODE_STRIKE && mode !== MODE_PIERCE)) {
      this.waited_ms = 0;
      this.burnt = false;
      return;
    }
    this.burnt ||= s.burning[i] !== 0;
    if (this.burnt) return;
    const length_ms = s.from[i + 1] - s.from[i];
    this.checked += length_ms;
    this.waited_ms += length_ms;
    const longest_ms = mode === MODE_STRIKE ? this.longest_ms : this.longest_ms + this.proof_ms;
    this.note(longest_ms - this.waited_ms, block.first_tick + s.from[i + 1] - 1);
  }
}

/** As the box believes: the second line of pierce-time. */
class PierceDwell extends Requirement {
  readonly name = 'pierce-dwell';
  readonly number = 13;
  readonly statement = 'Z goes down from pierce height, or the permit is given, only after pierce_ms of arc OK';
  readonly unit = 'ms';
  private readonly pierce_ms = this.parameters.pierce_ms;
  private dwell_ms = 0;
  private judged = false;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0) this.judged = false;
    if (this.judged || (s.digital_outputs[i] & OUTPUT_TRIGGER) === 0 || (s.flags[i] & FLAG_ARC_OK) === 0) {
      this.dwell_ms = 0;
      return;
    }
    const row = loweredAt(block, s, i);
    this.dwell_ms += row - s.from[i];
    if (row === s.from[i + 1]) return;
    this.judged = true;
    this.checked++;
    this.note(this.dwell_ms - this.pierce_ms, block.first_tick + row);
  }
}

/**
 * First row of a stretch in which Z goes down or the permit is on; its end when there is none. In pierce Z comes down from the
 * strokes of the proof: to pierce height, which descent-only-in-follow judges.
 */
function loweredAt({ z_steps }: TraceBlock, s: Stretches, i: number): number {
  let row = s.from[i];
  if ((s.digital_outputs[i] & OUTPUT_PERMIT) !== 0) return row;
  if (s.mode[i] === MODE_PIERCE) return s.from[i + 1];
  while (row < s.from[i + 1] && z_steps[row] >= 0) row++;
  return row;
}

/**
 * No requirement yet: a transfer that no jump of the voltage tells is seen by the answers of whole strokes, so the dwell may be
 * a stroke of the proof too short. What is out shorter than the box can see is one arc.
 */
class PierceTime extends Requirement {
  readonly name = 'pierce-time';
  readonly number = 13;
  override readonly kind = 'goal';
  readonly statement =
    'Z goes down from pierce height, or the permit is given, only after the arc has truly burnt for pierce_ms';
  readonly unit = 'ms';
  private readonly pierce_ms = this.parameters.pierce_ms;
  private readonly flicker_ms = SENSING_MS + this.parameters.arc_off_ms;
  private dwell_ms = 0;
  private out_ms = 0;
  private judged = false;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0) {
      this.dwell_ms = 0;
      this.out_ms = 0;
      this.judged = false;
    } else if (!this.judged) {
      const row = loweredAt(block, s, i);
      this.pass(row - s.from[i], s.burning[i] !== 0);
      if (row === s.from[i + 1]) return;
      this.judged = true;
      this.checked++;
      this.note(this.dwell_ms - this.pierce_ms, block.first_tick + row);
    }
  }

  private pass(length_ms: number, burning: boolean): void {
    this.out_ms = burning ? 0 : this.out_ms + length_ms;
    if (this.out_ms > this.flicker_ms) this.dwell_ms = 0;
    else if (burning || this.dwell_ms > 0) this.dwell_ms += length_ms;
  }
}

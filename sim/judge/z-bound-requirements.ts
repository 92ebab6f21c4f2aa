// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { MODE_FAULT, MODE_HOLD, MODE_RETRACT, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import { FLAG_HOMED, INPUT_STOP_CHAIN, OUTPUT_TRIGGER, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement, ROUNDING_STEPS, ZRequirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';

/** Requirements 5, 6 and 8: where Z may be, when it stops and rises, who owns it. */
export const boundRequirements = (context: RequirementContext): Requirement[] => [
  new ZTravel(context),
  new ZDive(context),
  new Floor(context),
  new OwnershipIdle(context),
  new HandBack(context),
  new StopChainStopsZ(context),
  new RiseAfterFall(context),
];

/** Above the take-over Z has no travel at all, so only a breach there is a margin. */
class ZTravel extends ZRequirement {
  readonly name = 'z-travel';
  readonly number = 6;
  readonly statement = 'Z stays between where the box took it over and travel_mm below that';
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';
  private readonly travel_steps = this.parameters.travel_mm * this.z.steps_per_mm;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_Z_OWNED) === 0) return;
    this.checked += s.from[i + 1] - s.from[i];
    const left = s.z_low[i] - s.z_taken[i] + this.travel_steps;
    this.note(left / this.z.steps_per_mm, block.first_tick + s.low_row[i]);
    const above = s.z_high[i] - s.z_taken[i];
    if (above > 0) this.note(-above / this.z.steps_per_mm, block.first_tick + s.high_row[i]);
  }
}

/** From the touch-off until Z is handed back. */
class ZDive extends ZRequirement {
  readonly name = 'z-dive';
  readonly number = 6;
  readonly statement = 'Z never goes further than dive_mm below the touched sheet';
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';
  // The bound is a whole step; a touch offset need not be one.
  private readonly dive_steps = this.parameters.dive_mm * this.z.steps_per_mm + 1;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if (Number.isNaN(s.z_sheet[i])) return;
    this.checked += s.from[i + 1] - s.from[i];
    const left = s.z_low[i] - s.z_sheet[i] + this.dive_steps;
    this.note(left / this.z.steps_per_mm, block.first_tick + s.low_row[i]);
  }
}

class Floor extends ZRequirement {
  readonly name = 'floor';
  readonly number = 6;
  readonly statement =
    'from settle to hold Z stays above touched height + cut_height_mm − (floor_allowance_mm + slope_limit × path since the motion permit)';
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';
  private readonly depth_steps =
    (this.parameters.cut_height_mm - this.parameters.floor_allowance_mm) * this.z.steps_per_mm - ROUNDING_STEPS;
  private readonly slope_steps_per_mm = this.parameters.slope_limit * this.z.steps_per_mm;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const known = s.z_sheet[i] + s.path_permit[i];
    if (s.mode[i] < MODE_SETTLE || s.mode[i] > MODE_HOLD || !Number.isFinite(known)) return;
    this.checked += s.from[i + 1] - s.from[i];
    this.rows(block, s, i);
  }

  private rows(block: TraceBlock, s: Stretches, i: number): void {
    const { z_at, path_at } = s;
    const slope = this.slope_steps_per_mm;
    const end = HISTORY_ROWS + s.from[i + 1];
    let least = Number.POSITIVE_INFINITY;
    let least_at = 0;
    for (let at = HISTORY_ROWS + s.from[i]; at < end; at++) {
      const height = z_at[at] + slope * path_at[at];
      if (height < least) {
        least = height;
        least_at = at;
      }
    }
    const floor = s.z_sheet[i] + this.depth_steps + slope * s.path_permit[i];
    this.note((least - floor) / this.z.steps_per_mm, block.first_tick + least_at - HISTORY_ROWS);
  }
}

/**
 * The multiplexer switches at the start of a tick, when the steps of the row before are out; so the row of the change
 * must have no step of its own.
 */
class OwnershipIdle extends Requirement {
  readonly name = 'ownership-idle';
  readonly number = 8;
  readonly statement = 'Z changes owner only in a tick without a step, and a box that does not own Z gives no step';
  readonly unit = 'ms';

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const row = s.from[i];
    const changed = ((s.digital_outputs[i] ^ s.digital_outputs[i - 1]) & OUTPUT_Z_OWNED) !== 0;
    if (changed) this.checked++;
    if ((s.digital_outputs[i] & OUTPUT_Z_OWNED) !== 0) {
      if (changed && block.z_steps[row] !== 0) this.add(1, block.first_tick + row);
    } else {
      this.unowned(block, s, i);
    }
  }

  private unowned(block: TraceBlock, s: Stretches, i: number): void {
    const at = HISTORY_ROWS + s.from[i];
    if (s.z_low[i] === s.z_high[i] && s.z_at[at] === s.z_at[at - 1]) return;
    for (let row = s.from[i]; row < s.from[i + 1]; row++) {
      if (block.z_steps[row] !== 0) this.add(1, block.first_tick + row);
    }
  }
}

/** Counted in the steps that were put out: the box's own idea of Z is not asked. */
class HandBack extends Requirement {
  readonly name = 'hand-back';
  readonly number = 8;
  readonly statement = 'the box hands Z back where it took it over, to the step, or says that Z must be homed';
  readonly unit = 'steps';

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i - 1] & ~s.digital_outputs[i] & OUTPUT_Z_OWNED) === 0) return;
    this.checked++;
    const row = s.from[i];
    const off = Math.abs(s.z_at[HISTORY_ROWS + row] - s.z_taken[i]);
    if (off !== 0 && (s.flags[i] & FLAG_HOMED) !== 0) this.add(off, block.first_tick + row);
  }
}

/** The tick in which the open chain is seen, and the one in which the last fraction of a step comes out. */
const STOP_TICKS = 2;

/** The margin is the time left of the ramp when the last step came out. */
class StopChainStopsZ extends ZRequirement {
  readonly name = 'stop-chain-stops-z';
  readonly number = 5;
  readonly statement = 'when the stop chain opens, Z stops within its ramp and stays there';
  readonly unit = 'ms';
  private open = false;
  private open_tick = 0;
  private allowed_ms = STOP_TICKS;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_inputs[i] & INPUT_STOP_CHAIN) !== 0) {
      this.open = false;
      return;
    }
    const row = s.from[i];
    if (!this.open) {
      this.open = true;
      this.open_tick = block.first_tick + row;
      this.checked++;
      const speed = Math.max(this.z.speedBefore_mm_s(s, row, -1), this.z.speedBefore_mm_s(s, row, 1));
      this.allowed_ms = this.z.rampMs(speed) + STOP_TICKS;
      this.note(this.allowed_ms, this.open_tick);
    }
    this.rows(block, row, s.from[i + 1]);
  }

  private rows(block: TraceBlock, from: number, end: number): void {
    const z_steps = block.z_steps;
    for (let row = end - 1; row >= from; row--) {
      if (z_steps[row] === 0) continue;
      const tick = block.first_tick + row;
      this.note(this.allowed_ms - (tick - this.open_tick), tick);
      return;
    }
  }
}

/**
 * A rise has begun when Z is higher than the ramp of its speed can have brought it; by then the voltage must have been
 * near zero at least once since trigger off.
 */
class RiseAfterFall extends ZRequirement {
  readonly name = 'rise-after-fall';
  readonly number = 5;
  readonly statement = 'after a cut Z rises only when the arc voltage has fallen below rest_V';
  readonly unit = 'V';
  private readonly rest_V = this.parameters.rest_V;
  /** Lowest size of the voltage since trigger off. */
  private lowest_V = Number.POSITIVE_INFINITY;
  private start = 0;
  private ramp = 0;
  private risen = true;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const mode = s.mode[i];
    const rising_mode = mode === MODE_RETRACT || mode === MODE_FAULT;
    const row = s.from[i];
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0) this.lowest_V = Number.POSITIVE_INFINITY;
    if (!rising_mode) this.risen = true;
    else if (mode !== s.mode[i - 1]) {
      this.risen = false;
      // The tick that raises a fault has already moved Z, for the mode before.
      this.start = s.z_at[HISTORY_ROWS + row];
      // What the backlash of a reversal held back may come out as well.
      this.ramp = this.z.rampSteps(this.z.speedBefore_mm_s(s, row, 1)) + this.z.backlash_steps + ROUNDING_STEPS;
    }
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0 || !this.risen) this.rows(block, s, i);
  }

  private rows(block: TraceBlock, s: Stretches, i: number): void {
    if (this.risen && this.lowest_V < this.rest_V) return;
    const { measured_V } = block;
    const end = s.from[i + 1];
    const off = (s.digital_outputs[i] & OUTPUT_TRIGGER) === 0;
    for (let row = s.from[i]; row < end; row++) {
      const size_V = Math.abs(measured_V[row]);
      if (off && size_V < this.lowest_V) this.lowest_V = size_V;
      if (this.risen || s.z_at[HISTORY_ROWS + row] - this.start <= this.ramp) continue;
      this.risen = true;
      this.checked++;
      const lowest_V = this.lowest_V === Number.POSITIVE_INFINITY ? size_V : this.lowest_V;
      this.note(this.rest_V - lowest_V, block.first_tick + row);
    }
  }
}

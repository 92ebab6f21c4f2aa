import { FLAG_HOMED, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import { Requirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';

/**
 * Requirement 8: the multiplexer switches at the start of a tick, when the steps of the row before are out, so the row of
 * the change must have no step of its own; and a box that does not own Z gives no step at all.
 */
export class OwnershipIdle extends Requirement {
  readonly name = 'ownership-idle';
  readonly number = 8;
  readonly statement = 'Z changes hands only in a tick without a step, and without owning Z the box gives no step';
  readonly unit = 'ms';
  readonly checked_unit = 'times';

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const row = s.from[i];
      const changed = ((s.digital_outputs[i] ^ s.digital_outputs[i - 1]) & OUTPUT_Z_OWNED) !== 0;
      if (changed) this.checked++;
      if ((s.digital_outputs[i] & OUTPUT_Z_OWNED) !== 0) {
        if (changed && block.z_steps[row] !== 0) this.add(1, block.first_tick + row);
      } else {
        this.foreign(block, s, i);
      }
    }
  }

  private foreign(block: TraceBlock, s: Stretches, i: number): void {
    const at = HISTORY_ROWS + s.from[i];
    if (s.z_low[i] === s.z_high[i] && s.z_at[at] === s.z_at[at - 1]) return;
    for (let row = s.from[i]; row < s.from[i + 1]; row++) {
      if (block.z_steps[row] !== 0) this.add(1, block.first_tick + row);
    }
  }
}

/** Requirement 8: to the step, by the step output alone. */
export class HandBack extends Requirement {
  readonly name = 'hand-back';
  readonly number = 8;
  readonly statement = 'the box hands Z back where it took it over, to the step, or says that Z must be homed';
  readonly unit = 'steps';
  readonly checked_unit = 'times';

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if ((s.digital_outputs[i - 1] & ~s.digital_outputs[i] & OUTPUT_Z_OWNED) === 0) continue;
      this.checked++;
      const row = s.from[i];
      const off = Math.abs(s.z_at[HISTORY_ROWS + row] - s.z_taken[i]);
      if (off !== 0 && (s.flags[i] & FLAG_HOMED) !== 0) this.add(off, block.first_tick + row);
    }
  }
}

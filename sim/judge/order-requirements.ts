import { MODE_FAULT } from '../../firmware/wire/codes.gen.js';
import { INPUT_REQUEST, INPUT_RESET } from '../../firmware/wire/layout.gen.js';
import { NEXT_MODES } from '../../firmware/wire/mode-order.js';
import type { TraceBlock } from '../run/trace/index.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/** Requirement 10 (and the sequence): no mode is left but for one that may follow it. */
export class ModeOrder extends Requirement {
  readonly name = 'mode-order';
  readonly number = 10;
  readonly statement = 'the modes follow each other as the sequence allows';
  readonly unit = 'times';
  readonly checked_unit = 'times';

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const mode = s.mode[i];
      const before = s.mode[i - 1];
      if (mode === before) continue;
      this.checked++;
      if (((NEXT_MODES[before] ?? 0) & (1 << mode)) === 0) this.add(1, block.first_tick + s.from[i]);
    }
  }
}

/** Requirement 10: leaving a fault. */
export class FaultReset extends Requirement {
  readonly name = 'fault-reset';
  readonly number = 10;
  readonly statement = 'a fault is left only by a reset with the request off';
  readonly unit = 'times';
  readonly checked_unit = 'times';

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const left =
        (s.fault[i - 1] !== 0 && s.fault[i] === 0) || (s.mode[i - 1] === MODE_FAULT && s.mode[i] !== MODE_FAULT);
      if (!left) continue;
      this.checked++;
      if ((s.digital_inputs[i] & (INPUT_RESET | INPUT_REQUEST)) !== INPUT_RESET)
        this.add(1, block.first_tick + s.from[i]);
    }
  }
}

/** Requirement 10: no output is ever infinite or NaN. Codes and steps are integers and cannot be. */
export class Finite extends Requirement {
  readonly name = 'finite';
  readonly number = 10;
  readonly statement = 'every output is a finite number';
  readonly unit = 'ms';
  readonly checked_unit = 'ms';

  watch(block: TraceBlock): void {
    const { measured_V, target_V, measured_error_mm, z_velocity_mm_s, measured_feed_mm_s } = block;
    const { slope_x, slope_y, feed_effect_V, count } = block;
    this.checked += count;
    // x − x is 0 for every finite x; the sum of eight f32 is finite in f64 if and only if all eight are.
    let total = 0;
    for (let row = 0; row < count; row++) {
      const sum =
        measured_V[row] +
        target_V[row] +
        measured_error_mm[row] +
        z_velocity_mm_s[row] +
        measured_feed_mm_s[row] +
        slope_x[row] +
        slope_y[row] +
        feed_effect_V[row];
      total += sum - sum;
      if (total !== 0) {
        this.add(1, block.first_tick + row);
        total = 0;
      }
    }
  }
}

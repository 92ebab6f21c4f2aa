/** Loops that are weakened so far that one cause of the world hurts them; `causes.ts` has the runs. */
import { type Mutant, mutantsOf } from './mutant.js';

export const CAUSE_MUTANTS: readonly Mutant[] = [
  ...mutantsOf('cut.ts', [
    'up-at-2-mm-s',
    'ceilingReached() ? 0 : P.z_velocity_mm_s);',
    'ceilingReached() ? 0 : <f32>2);',
    'the regulator raises Z by 2 mm/s at most',
  ]),
  ...mutantsOf('least.ts', [
    'target-of-the-standing-torch',
    'if (R.target_V < least_V) R.target_V = least_V;',
    'R.target_V = R.start_V - P.feed_effect_V * (<f32>1 - R.slowness);',
    'the target is the voltage with which the torch came to stand, less the feed effect',
  ]),
  ...mutantsOf('hold.ts', [
    'crossings-unseen',
    '  if (crossingBegins() || ((F.past & 1) != 0 && !waits() && atCliff())) return HOLD_CROSSING;\n',
    '',
    'no crossing and no cliff takes Z from the regulator',
  ]),
  ...mutantsOf(
    'derived.ts',
    [
      'target-as-told',
      'D.target_found = P.target_learned >= <f32>0.5 ? 1 : 0;',
      'D.target_found = 0;',
      'the target is always the told one',
    ],
    [
      'pickup-of-50-hz',
      'const turn = TWO_PI * P.mains_Hz * TICK_S;',
      'const turn = TWO_PI * <f32>50 * TICK_S;',
      'what the leads pick up is looked for at 50 Hz, whatever the mains',
    ],
    [
      'stuck-after-a-tenth',
      '<i32>P.stuck_ms * READINGS_PER_TICK',
      '<i32>P.stuck_ms',
      'a reading is stuck after a tenth of stuck_ms',
    ],
  ),
  ...mutantsOf(
    'filter.ts',
    [
      'spike-of-half-a-millisecond',
      '} else if (F.rejected >= D.spike_longest) {',
      '} else if (F.rejected >= 5) {',
      'a spike is believed after half a millisecond',
    ],
    [
      'spike-by-the-mean',
      'from_mean < from_earlier ? from_mean : from_earlier',
      'from_mean',
      'a reading far from the mean is a spike though it comes back in every half period',
    ],
  ),
  ...mutantsOf(
    'sequence.ts',
    [
      'no-voltage-in-a-strike',
      '  } else if (S.timer >= D.strike_ticks) {\n    if (S.voltage_seen)',
      '  } else if (S.timer >= D.strike_ticks || (S.voltage_seen && nearZero())) {\n    if (false)',
      'a strike whose voltage falls away for a moment is a fault',
    ],
    [
      'end-in-motion-is-a-fault',
      '  endTimers();\n  setMode(MODE_RETRACT, STAGE_FALL);',
      '  if (R.feed_mm_s > 20) {\n    raise(FAULT_NO_ARC);\n    return;\n  }\n  endTimers();\n  setMode(MODE_RETRACT, STAGE_FALL);',
      'a request that ends over a moving table is a fault',
    ],
  ),
];

/** Defects of what a start finds: sample, bank of lags, pierce excess, and the bounds of what is found. */
import { type Mutant, mutantsOf } from './mutant.js';

export const RULER_MUTANTS: readonly Mutant[] = [
  ...mutantsOf(
    'ruler/cycle.ts',
    [
      'ruler-path-bound',
      'L.path_mm < LONGEST_MM && insideWindow()',
      'insideWindow()',
      'learns where the sheet is not known',
    ],
    [
      'ruler-in-crossings',
      'if (S.hold == HOLD_CROSSING) L.waits = AFTER_CROSSING;',
      'if (S.hold == HOLD_CROSSING) L.waits = 0;',
      'learns from the end of a crossing',
    ],
    [
      'ruler-learns-standing',
      'L.first != 0 || L.step_mm > 0',
      'true',
      'what changes over a torch that stands is learned as the arc',
    ],
    ['ruler-far-off', 'absolute(L.found_V - P.target_V) > P.learn_band_V', 'false', 'any target that is found is used'],
    ['ruler-prior-kept', 'if (S.mode == 0) openNext();', '', 'after the key was off consumables count as the same'],
    ['ruler-path-kept', '  L.path_mm = 0;\n', '', 'the path of the contour before counts'],
    ['ruler-place-kept', '  L.x_mm = 0;\n  L.y_mm = 0;\n', '', 'the torch is believed where the last contour ended'],
  ),
  ...mutantsOf(
    'ruler/bank.ts',
    [
      'bank-sheet-kept',
      '  h.slope_x = 0;\n  h.slope_y = 0;\n',
      '',
      'the slope of the last contour is believed in the next',
    ],
    [
      'bank-sign-of-feed',
      'L.sample_V - h.arc_V - f * h.effect_V',
      'L.sample_V - h.arc_V + f * h.effect_V',
      'the feed effect lowers the voltage',
    ],
    [
      'bank-lag-unweighed',
      'h.log_weight -= TEMPER * (L.off_V * share + log_variance);',
      '',
      'no lag is better than another',
    ],
  ),
  ...mutantsOf(
    'ruler/excess.ts',
    ['excess-for-ever', 'L.excess_V -= L.excess_V * L.excess_share;', '', 'what the pierce leaves stays'],
    [
      'excess-unseen',
      'L.excess_V = left > 0 ?',
      'L.excess_V = left > 1000 ?',
      'what the pierce leaves counts as the arc',
    ],
  ),
  ...mutantsOf('feed.ts', [
    'slowness-below-0',
    'return isPositive(slowness) ? slowness : 0;',
    'return slowness;',
    'beyond the target feed it extrapolates',
  ]),
  ...mutantsOf('derived.ts', [
    'floor-allowance-unbounded',
    'P.floor_allowance_mm < deepest_mm ? P.floor_allowance_mm : deepest_mm',
    'P.floor_allowance_mm',
    'the floor lies below the least standoff',
  ]),
  ...mutantsOf('hold.ts', [
    'height-hides-voltage',
    'L.first == 0 && -R.seen_mm > low_mm',
    'false',
    'a low voltage does not raise a torch that goes by height',
  ]),
  ...mutantsOf('cut.ts', [
    'floor-without-ramp',
    'R.velocity_mm_s < 0 ? S.z - stopSteps(R.velocity_mm_s) : S.z',
    'S.z',
    'Z is stopped only where the floor is',
  ]),
  ...mutantsOf('cut.ts', [
    'no-ceiling',
    'if (S.z - S.z_touched < D.ceiling_steps) return false;',
    'return false;',
    'Z has no ceiling',
  ]),
];

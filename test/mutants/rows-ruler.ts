/** Defects of what a start finds: sample, bank of lags, pierce excess, and the bounds of what is found. */
import { type Mutant, mutantsOf } from './mutant.js';

export const RULER_MUTANTS: readonly Mutant[] = [
  ...mutantsOf(
    'ruler/cycle.ts',
    [
      'height-ends-before-the-start',
      '  if (L.first != 0) return;\n  if ((L.deviation_mm',
      '  if ((L.deviation_mm',
      'a hole after an outline goes by height without the slope that is found',
    ],
    [
      'growth-none',
      '  L.growth_mm = L.grown_mm * near;\n',
      '',
      'what the sheet rises under the arc leaves the torch low',
    ],
    [
      'growth-everywhere',
      '  L.growth_mm = L.grown_mm * near;\n',
      '  L.growth_mm = L.grown_mm;\n',
      'the sheet is taken to rise far from the arc',
    ],
    [
      'lowering-unseen',
      '  if (S.mode == MODE_LOWER) watchLowering();\n',
      '',
      'a start is measured by one moving mean alone',
    ],
    [
      'lowering-as-told',
      'R.proof_slope_V_per_mm * above_mm',
      'P.arc_slope_V_per_mm * above_mm',
      'a V/mm that was told wrong goes into the target',
    ],
    ['growth-kept', '  L.grown_mm = 0;\n', '', 'what the sheet rose at one start counts at the next'],
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
    ['ruler-far-off', 'exceeds(off_V, P.learn_band_V) &&', 'false &&', 'any target that is found is used'],
    [
      'ruler-far-off-by-one',
      ' && exceeds(off_now_V, P.learn_band_V)',
      '',
      'a target is dropped for what belongs to the feed effect',
    ],
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
    ['bank-lag-unweighed', 'h.log_weight -= TEMPER * (square + log_variance);', '', 'no lag is better than another'],
    [
      'bank-outlier-for-nothing',
      '    h.log_weight -= TEMPER * (OUTLIER_2 + log_variance);\n',
      '',
      'a lag that believes no sample any more keeps its weight',
    ],
  ),
  ...mutantsOf(
    'ruler/excess.ts',
    [
      'lowering-kept',
      '  L.lower_sum_V = 0;\n  L.lower_ticks = 0;\n',
      '',
      'the lowering of the contour before counts in this one',
    ],
    ['excess-for-ever', 'L.excess_V -= L.excess_V * L.excess_share;', '', 'what the pierce leaves stays'],
    [
      'excess-unseen',
      'L.excess_V = left > 0 ?',
      'L.excess_V = left > 1000 ?',
      'what the pierce leaves counts as the arc',
    ],
  ),
  ...mutantsOf('feed.ts', [
    'slowness-unbounded',
    'return slowness > D.least_slowness ? slowness : D.least_slowness;',
    'return slowness;',
    'beyond twice the target feed it extrapolates',
  ]),
  ...mutantsOf('derived.ts', [
    'told-effect-extrapolated',
    'D.least_slowness = D.target_found ? -1 : 0;',
    'D.least_slowness = -1;',
    'a told feed effect is believed above the target feed',
  ]),
  ...mutantsOf(
    'least.ts',
    ['least-forgotten', 'if (R.target_V < least_V) R.target_V = least_V;', '', 'a found target has no least'],
    ['doubt-unseen', 'limit(unsure_mm - R.doubt_mm, DOUBT_STEP_MM)', '0', 'what is not known raises no target'],
  ),
  ...mutantsOf('regulator.ts', [
    'height-goes-down-alone',
    '  if (isPositive(height_mm)) R.error_mm = isPositive(seen_mm) ? seen_mm : 0;\n',
    '',
    'by height Z goes down where the voltage says that it is low',
  ]),
  ...mutantsOf('cut.ts', [
    'descent-unbounded',
    'return left_mm < 0;',
    'return false;',
    'over its path Z goes down as far as the voltage says',
  ]),
  ...mutantsOf(
    'hold.ts',
    [
      'hold-carries-for-ever',
      'no_descent || R.drop_mm < 0',
      'no_descent',
      'the slope carries Z down as far as the hold lasts',
    ],
    ['near-is-carried-nearer', 'low_mm > D.near_mm && velocity < 0', 'false', 'what seems too near is carried down'],
  ),
  ...mutantsOf(
    'hold.ts',
    [
      'corner-unheard',
      ' + cornerRise_mm_s();',
      ';',
      'in a corner the voltage is not heard, whatever is known of the feed effect',
    ],
    [
      'corner-heard-when-told',
      ' || !D.target_found || L.by_height',
      ' || L.by_height',
      'in a corner Z rises for a feed effect that was only told',
    ],
    [
      'corner-heard-in-doubt',
      '-R.error_filtered_mm - L.deviation_mm - CORNER_BAND_MM',
      '-R.error_filtered_mm',
      'in a corner Z rises for what the target may be off',
    ],
  ),
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

/** Defects by which something of an earlier contour, strike or hold is left over. */
import { type Mutant, mutantsOf } from './mutant.js';

export const CONTOUR_MUTANTS: readonly Mutant[] = [
  ...mutantsOf(
    'cut.ts',
    [
      'running-feed-of-contour-before',
      '  R.running_mm_s = 0;\n',
      '',
      'a slower contour begins as a corner of the one before',
    ],
    [
      'settle-path-of-contour-before',
      '  R.settle_path_mm = 0;\n',
      '',
      'a torch that stands counts as having moved, as it had in the contour before',
    ],
    [
      'integral-of-contour-before',
      '  S.crossing_ms = 0;\n  beginRegulation();\n  presetIntegral();\n',
      '  S.crossing_ms = 0;\n  beginRegulation();\n',
      'following begins with the integral of the contour before',
    ],
    [
      'error-of-lowering',
      '  S.crossing_ms = 0;\n  beginRegulation();\n',
      '  S.crossing_ms = 0;\n',
      'following begins with what the low-pass remembers of the pierce',
    ],
    [
      'wrong-way-over-a-hold',
      '    S.wrong_ms = 0;\n    heldStep();',
      '    heldStep();',
      'the check for a wrong way goes on over a hold',
    ],
    ['hole-not-begun', '  beginHole();\n', '', 'only the first contour may be a small hole'],
    [
      'sample-of-the-way-down',
      '  measureStanding();\n',
      '',
      'the first sample may be one of the torch on its way down',
    ],
    [
      'standstill-teaches-nothing',
      '  learnFromStandstill();\n',
      '',
      'the start of a cut teaches nothing about the feed effect',
    ],
  ),
  ...mutantsOf('sheet/hole.ts', [
    'hole-where-the-last-was',
    '  R.hole_x_mm = 0;\n  R.hole_y_mm = 0;\n',
    '',
    'a hole is looked for where the contour before ended',
  ]),
  ...mutantsOf('sheet/slope.ts', [
    'slope-evidence-kept',
    'const CONTOUR_SHARE: f32 = 0;',
    'const CONTOUR_SHARE: f32 = 1;',
    'the evidence of the sheet under the contour before counts in full',
  ]),
  ...mutantsOf(
    'hold.ts',
    ['corner-path-adds-up', '  R.hold_path_mm = 0;\n', '', 'the path of one corner hold counts for the next'],
    [
      'crossing-path-adds-up',
      '  R.crossing_path_mm = 0;\n  R.crossing_peak_V = 0;\n  R.effect_start_V',
      '  R.crossing_peak_V = 0;\n  R.effect_start_V',
      'the path of one crossing counts for the next',
    ],
    [
      'crossing-peak-kept',
      '  R.crossing_peak_V = 0;\n  R.effect_start_V',
      '  R.effect_start_V',
      'the peak of the crossing before says when this one is over',
    ],
    [
      'effect-sums-add-up',
      '  R.effect_product = 0;\n  R.effect_square = 0;\n',
      '',
      'a corner is learned from again in every later one',
    ],
    [
      'effect-from-no-voltage',
      '  R.effect_start_V = F.mean_V;\n',
      '',
      'what a corner raises the voltage by is counted from the first corner’s',
    ],
    [
      'effect-from-no-slowness',
      '  R.slowness_start = R.slowness;\n',
      '',
      'the slowness of a corner is counted from that of the first',
    ],
    [
      'corner-begins-again',
      '    R.running_mm_s = R.feed_slow_mm_s;\n    return HOLD_OVER;',
      '    return HOLD_OVER;',
      'a corner hold that is over begins again at once',
    ],
  ),
  ...mutantsOf(
    'arc.ts',
    ['arc-ok-of-strike-before', '    S.arc_ok = 0;\n', '', 'an arc of the strike before is one of this'],
    [
      'arc-count-of-strike-before',
      '    S.arc_count = 0;\n',
      '',
      'what the debounce has counted in the strike before counts in this',
    ],
    [
      'voltage-of-strike-before',
      '    S.voltage_seen = 0;\n',
      '',
      'a strike without any voltage passes for one with, after one that had it',
    ],
    [
      'proof-time-of-strike-before',
      '    S.fired_ms = 0;\n',
      '',
      'the time of the strikes before counts for the proof in this one',
    ],
  ),
  ...mutantsOf(
    'sequence.ts',
    [
      'sums-of-strike-before',
      '    setMode(MODE_PIERCE, STAGE_UP);\n    beginProof();\n',
      '    setMode(MODE_PIERCE, STAGE_UP);\n',
      'a proof goes on with the sums of the strike before',
    ],
    [
      'answer-of-strike-before',
      '  R.proof_slope_V_per_mm = 0;\n',
      '',
      'until an arc is proved the answer of the one before is shown',
    ],
    [
      'permit-outlives-reset',
      '      S.permit_was_given = 0;\n',
      '',
      'that a permit was given outlives the reset of its fault',
    ],
  ),
  ...mutantsOf(
    'ruler/cycle.ts',
    ['ruler-begins-once', '    L.begun = 0;\n', '', 'only the first contour is measured at its start'],
    [
      'kept-target-learned-from',
      '  if (S.target_kept) forgetArc();\n',
      '',
      'a target that was out of its bounds is where the next contour begins',
    ],
    [
      'target-kept-for-good',
      '  S.target_kept = 0;\n  L.by_height',
      '  L.by_height',
      'once a target was out of its bounds every contour forgets what was found',
    ],
    ['voltage-at-once', '  L.by_height = 1;\n', '', 'a contour begins by the voltage, before its target is known'],
  ),
  ...mutantsOf('ruler/bank.ts', [
    'lag-of-contour-before',
    '  h.slowness = 0;\n  h.log_weight',
    '  h.log_weight',
    'the slowness of the contour before goes on in the next',
  ]),
];

/** Defects of what a target that is not known yet, and a voltage that dips, do to Z. */
import { type Mutant, mutantsOf } from './mutant.js';

export const UNSURE_MUTANTS: readonly Mutant[] = [
  ...mutantsOf(
    'sheet/dip.ts',
    [
      'dip-unseen',
      '  if (fall_V < D.crossing_rise_V || fall_V <= D.crossing_left_V) return false;\n',
      '  if (true) return false;\n',
      'Z shoots up at a double arc',
    ],
    [
      'dip-for-ever',
      'was_back || R.dip_ms < LONGEST_TICKS',
      'true',
      'a voltage that has fallen is waited for for ever',
    ],
    [
      'dip-back-for-ever',
      'R.dip_ms <= longest && rise',
      'rise',
      'volts that are back and rise on are waited for for ever',
    ],
    [
      'dip-shallow',
      ' || fall_V <= D.crossing_left_V) return false;',
      ') return false;',
      'what a crossing leaves behind is a dip',
    ],
    [
      'dip-in-a-hold',
      '  if (waits()) R.dip_ms = R.dip_ms < LONGEST_TICKS ? R.dip_ms + 1 : 0;\n',
      '',
      'a dip that meets a hold is one for as long as the hold lasts',
    ],
    [
      'dip-past-the-ceiling',
      'isPositive(slope_mm_s) && !no_ascent',
      'isPositive(slope_mm_s)',
      'in a dip Z goes up past the ceiling',
    ],
    [
      'dip-at-once-again',
      'R.dip_ms = back ? 0 : -LONGEST_TICKS;',
      'R.dip_ms = 0;',
      'a voltage that falls and falls is waited for all the time',
    ],
    ['dip-rising', 'back ? comesBack() :', 'back ? false :', 'the end of a dip passes for a crossing'],
    [
      'dip-carried-down',
      'isPositive(slope_mm_s) && !no_ascent ? slope_mm_s : 0',
      'no_ascent ? 0 : slope_mm_s',
      'in a dip Z goes down',
    ],
    [
      'dip-after-a-hold',
      ' || S.timer < WARM_UP_TICKS) return false;',
      ') return false;',
      'the end of a crossing is a dip',
    ],
  ),
  ...mutantsOf('sheet/against.ts', [
    'doubt-is-a-fall',
    '  return R.seen_mm + R.doubt_mm;\n',
    '  return R.seen_mm;\n',
    'a target that is raised for doubt is a torch that falls',
  ]),
  ...mutantsOf(
    'ruler/cycle.ts',
    [
      'limited-unlearned',
      ' || S.hold == HOLD_LIMITED',
      '',
      'by height with a limited Z nothing is learned of the sheet',
    ],
    [
      'dropped-as-told',
      'P.target_V + limit(off_V, P.learn_band_V)',
      'P.target_V',
      'an arc that is far from what was told is cut as told',
    ],
  ),
];

import type { Mutant } from '../mutants/mutant.js';

/** A planted defect that breaks a law only in a cut in a few hundred, and the law. */
export interface RareDefect extends Mutant {
  readonly law: string;
}

/** Each weakens a bound that most cuts never come near. */
export const RARE_DEFECTS: readonly RareDefect[] = [
  {
    name: 'rises-a-little-early',
    file: 'sequence.ts',
    search: 'if (stop() && nearZero()) setMode(MODE_RETRACT, STAGE_RISE);',
    replacement:
      'if (stop() && R.measured_before_mm * P.arc_slope_V_per_mm < P.rest_V + <f32>4.4) setMode(MODE_RETRACT, STAGE_RISE);',
    plants: 'after a cut the torch rises at 4.4 V more than it should',
    law: 'rise-after-fall',
  },
  {
    name: 'no-floor',
    file: 'cut.ts',
    search: 'return S.z <= aboveSheet(P.cut_height_mm - depth_mm);',
    replacement: 'return S.z <= aboveSheet(P.cut_height_mm - depth_mm - <f32>10);',
    plants: 'the floor lies 10 mm too low',
    law: 'floor',
  },
  {
    name: 'fault-rises-a-little-early',
    file: 'sequence.ts',
    search: 'if (stop() && nearZero()) setMode(MODE_FAULT, STAGE_RISE);',
    replacement:
      'if (stop() && R.measured_before_mm * P.arc_slope_V_per_mm < P.rest_V + <f32>4.4) setMode(MODE_FAULT, STAGE_RISE);',
    plants: 'after a fault the torch rises at 4.4 V more than it should',
    law: 'rise-after-fall',
  },
];

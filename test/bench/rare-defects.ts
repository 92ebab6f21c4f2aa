import type { Mutant } from '../mutants/mutant.js';
import { MUTANTS } from '../mutants/rows.js';

/** A planted defect that breaks a requirement only in a cut in many hundred, and the requirement. */
export interface RareDefect extends Mutant {
  readonly requirement: string;
}

/** The mean of the arc voltage, as sequence.ts can see it. */
const MEAN_V = 'R.error_mm * P.arc_slope_V_per_mm + R.target_V';

/** Each weakens a bound that most cuts never come near, or asks for a coincidence. */
export const RARE_DEFECTS: readonly RareDefect[] = [
  {
    name: 'allowance-too-small',
    file: 'target.ts',
    search: 'R.trim_V + feedAllowance_V();',
    replacement: 'R.trim_V + feedAllowance_V() * <f32>0.75;',
    plants: 'the target is raised by three quarters of the allowance for the feed effect',
    requirement: 'no-contact',
  },
  {
    name: 'rises-a-little-early',
    file: 'sequence.ts',
    search: 'if (stop() && nearZero()) beginRise(MODE_RETRACT);',
    replacement: `if (stop() && ${MEAN_V} < P.rest_V + <f32>3) beginRise(MODE_RETRACT);`,
    plants: 'after a cut the torch rises at 3 V more than it should',
    requirement: 'rise-after-fall',
  },
  {
    name: 'fault-rises-a-little-early',
    file: 'sequence.ts',
    search: 'if (stop() && nearZero()) beginRise(MODE_FAULT);',
    replacement: `if (stop() && ${MEAN_V} < P.rest_V + <f32>3) beginRise(MODE_FAULT);`,
    plants: 'after a fault the torch rises at 3 V more than it should',
    requirement: 'rise-after-fall',
  },
  {
    name: 'floor-too-low',
    file: 'cut.ts',
    search: 'return ends <= aboveSheet(P.cut_height_mm - depth_mm);',
    replacement: 'return ends <= aboveSheet(P.cut_height_mm - depth_mm - <f32>10);',
    plants: 'the floor lies 10 mm too low',
    requirement: 'floor',
  },
  { ...MUTANTS.find(({ name }) => name === 'taken-back-one-tick-early')!, requirement: 'trigger-path' },
];

import type { Mutant } from './mutant.js';
import { BOUND_MUTANTS } from './rows-bounds.js';
import { CAUSE_MUTANTS } from './rows-causes.js';
import { CONTOUR_MUTANTS } from './rows-contour.js';
import { CUT_MUTANTS } from './rows-cut.js';
import { DERIVED_MUTANTS } from './rows-derived.js';
import { FAULT_MUTANTS } from './rows-faults.js';
import { INPUT_MUTANTS } from './rows-inputs.js';
import { PROOF_MUTANTS } from './rows-proof.js';
import { REGULATOR_MUTANTS } from './rows-regulator.js';
import { RULER_MUTANTS } from './rows-ruler.js';
import { SEQUENCE_MUTANTS } from './rows-sequence.js';
import { SHEET_MUTANTS } from './rows-sheet.js';
import { STRIKE_MUTANTS } from './rows-strike.js';
import { UNSURE_MUTANTS } from './rows-unsure.js';

/** Place of the module as it is: nothing may catch it, or being caught says nothing. */
export const SOUND = -1;

/** Every planted defect. */
export const MUTANTS: readonly Mutant[] = [
  ...INPUT_MUTANTS,
  ...SEQUENCE_MUTANTS,
  ...PROOF_MUTANTS,
  ...FAULT_MUTANTS,
  ...CUT_MUTANTS,
  ...REGULATOR_MUTANTS,
  ...RULER_MUTANTS,
  ...DERIVED_MUTANTS,
  ...CONTOUR_MUTANTS,
  ...BOUND_MUTANTS,
  ...SHEET_MUTANTS,
  ...UNSURE_MUTANTS,
  ...STRIKE_MUTANTS,
  ...CAUSE_MUTANTS,
];

/** What is planted at a place of the table. */
export const plantedAt = (place: number): readonly Mutant[] => (place === SOUND ? [] : [MUTANTS[place]]);

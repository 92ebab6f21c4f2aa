import type { Mutant } from './mutant.js';
import { CUT_MUTANTS } from './rows-cut.js';
import { DERIVED_MUTANTS } from './rows-derived.js';
import { FAULT_MUTANTS } from './rows-faults.js';
import { INPUT_MUTANTS } from './rows-inputs.js';
import { PROOF_MUTANTS } from './rows-proof.js';
import { REGULATOR_MUTANTS } from './rows-regulator.js';
import { RULER_MUTANTS } from './rows-ruler.js';
import { SEQUENCE_MUTANTS } from './rows-sequence.js';

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
];

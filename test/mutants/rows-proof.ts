/** Defects of the proof that an arc burns. */
import { type Mutant, mutantsOf } from './mutant.js';

export const PROOF_MUTANTS: readonly Mutant[] = mutantsOf(
  'proof.ts',
  [
    'every-stroke-missing',
    'if (everyStroke(slope)) prove(slope);\n    else beginAgain();',
    'prove(slope);',
    'a stroke that did not answer counts with the others',
  ],
  [
    'deviation-ignored',
    '(D.contact_used ? DEVIATIONS_BESIDE_CONTACT : DEVIATIONS) * deviation',
    '<f32>0 * deviation',
    'how sure the answer is does not count',
  ],
  [
    'sign-forgotten',
    'const slope = cell(Z, VOLTS);',
    'const given = cell(Z, VOLTS);\n  const slope = given < 0 ? -given : given;',
    'a reversed answer is one',
  ],
  [
    'delay-forgotten',
    'if (Q.wait == D.stroke_look) Q.z_steps',
    'Q.z_steps',
    'Z counts as it is, not as the mean has it',
  ],
  [
    'again-unbounded',
    '  if (S.fired_ms >= D.proof_begins_ticks) S.verdict = REFUSED;\n',
    '',
    'a proof begins again without end',
  ],
  [
    'undecided-goes-on',
    'else if (Q.strokes >= STROKES_MOST) S.verdict = REFUSED;',
    '',
    'an answer that is not sure is awaited without end',
  ],
  [
    'no-response-is-not-yet',
    'S.verdict = NO_RESPONSE;',
    'S.verdict = NOT_YET;',
    'a voltage that does not answer is asked on',
  ],
  [
    'wrong-sign-is-a-pilot',
    'if (-slope > sure) {',
    'if (-slope > <f32>100 * sure) {',
    'a voltage with the wrong sign is struck again',
  ],
  ['one-stroke-enough', 'const LEAST_STROKES = 3;', 'const LEAST_STROKES = 1;', 'the first stroke decides'],
  ['jumps-unseen', 'rest_V2 > JUMP_V2', 'rest_V2 > <f32>1000 * JUMP_V2', 'a jump of the voltage is taken for noise'],
  [
    'dwell-from-arc-ok',
    'if (!Q.jumped || first_late) S.timer -= Q.first_ticks;',
    'if (first_late) S.timer -= Q.first_ticks;',
    'the dwell is counted from a moment at which the arc had not been seen',
  ],
  ['dwell-of-the-pilot', '  S.timer = 0;\n', '', 'what burned before the arc makes its dwell longer'],
);

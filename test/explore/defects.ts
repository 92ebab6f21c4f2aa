import { type Mutant, mutantsOf } from '../mutants/mutant.js';

/** Defects for invariants that none of the mutants breaks: each is named after its invariant. */
export const DEFECTS: readonly Mutant[] = [
  ...mutantsOf('touch-off.ts', [
    'no-descent-without-touch',
    '  S.touched_off = 1;\n',
    '',
    'the touch-off is not noted',
  ]),
  ...mutantsOf(
    'sequence.ts',
    [
      'trigger-rises-to-strike',
      'if (nearZero()) setMode(MODE_LIFT, STAGE_NONE);',
      'if (nearZero()) strike();',
      'the next attempt does not go by pierce height',
    ],
    [
      'strike-height',
      'if (goTo(aboveSheet(P.pierce_height_mm))) strike();',
      'if (goTo(aboveSheet(P.cut_height_mm))) strike();',
      'the trigger goes on at cut height',
    ],
    ['attempts-are-counted', '  S.strikes++;\n', '', 'attempts are not counted'],
    [
      'last-attempt-is-a-fault',
      'if (<f32>S.strikes > P.strike_retries)',
      'if (<f32>S.strikes > P.strike_retries + 1)',
      'one attempt too many',
    ],
    [
      'permit-mode',
      '    setMode(MODE_LOWER, STAGE_NONE);',
      '    S.permit = 1;\n    setMode(MODE_LOWER, STAGE_NONE);',
      'motion is permitted on the way down',
    ],
    [
      'latched-stop-stays',
      '  S.owned = 0;\n  S.touched_off = 0;',
      '  S.owned = 0;\n  S.latched_stop = 0;\n  S.touched_off = 0;',
      'the latched stop is reset when Z has come back',
    ],
    ['rest-owns-nothing', '  S.owned = 0;\n  S.touched_off = 0;', '  S.touched_off = 0;', 'Z is never handed back'],
    [
      'mode-order',
      '    setMode(MODE_PIERCE, STAGE_UP);\n    beginProof();\n',
      '    setMode(MODE_LOWER, STAGE_NONE);\n',
      'the pierce delay is left out',
    ],
    ['fault-mode', '      S.fault = 0;\n', '', 'a reset leaves the mode of a fault, not the fault'],
    [
      'rest-has-no-fault-left',
      '  S.touched_off = 0;\n  S.strikes = 0;\n  dropFraction',
      '  dropFraction',
      'strikes are kept',
    ],
  ),
  ...mutantsOf(
    'faults.ts',
    [
      'contact-cause',
      'if (S.contact_ms >= CONTACT_TICKS)',
      'if (S.contact_ms >= 1)',
      'chatter after the touch-off is a contact',
    ],
    [
      'early-motion-cause',
      'if (S.early_ms >= EARLY_TICKS)',
      'if (S.early_ms >= 1)',
      'a single step before the motion permit is a fault',
    ],
  ),
  ...mutantsOf('faults.ts', [
    'closed-contact-cause',
    'return S.relay_ms >= RELAY_RELEASE_TICKS;',
    'return S.relay_ms >= 1;',
    'a firing contact gets no time to open',
  ]),
  ...mutantsOf('faults.ts', [
    'latched-stop-cause',
    'if (latchesStop(fault)) S.latched_stop = 1;',
    'S.latched_stop = 1;',
    'every fault sets the latched stop',
  ]),
];

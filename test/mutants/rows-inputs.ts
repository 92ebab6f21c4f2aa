/** Defects of what comes in and of when a start is refused. */
import { type Mutant, mutantsOf } from './mutant.js';

export const INPUT_MUTANTS: readonly Mutant[] = [
  ...mutantsOf(
    'inputs.ts',
    ['reference-not-asked', 'off > WITHIN_COUNTS || off < -WITHIN_COUNTS', 'false', 'no reference is wrong'],
    ['reference-from-above', ' || off < -WITHIN_COUNTS', '', 'a reference that reads too low is believed'],
    [
      'reference-at-once',
      'wrong, 1, 1, REFERENCE_TICKS',
      'wrong, REFERENCE_TICKS, 1, REFERENCE_TICKS',
      'one wrong reading of the reference makes a dead converter',
    ],
  ),
  ...mutantsOf('filter.ts', [
    'dead-converter-believed',
    '  if (S.converter_dead) return HIGHEST_COUNT;\n',
    '',
    'the readings of a dead converter are believed',
  ]),
  ...mutantsOf(
    'filter.ts',
    ['pickup-stays', '  return rest_V;', '  return mean_V;', 'what the leads pick up of the mains stays in the mean'],
    [
      'pickup-learns-strikes',
      '  if (!below(off_V, JUMP_V)) return jump(mean_V, swing_V, quarter_V);\n',
      '',
      'an arc that is struck is taken for a pickup',
    ],
  ),
  ...mutantsOf('sequence.ts', [
    'rest-not-refused',
    '  if (line(INPUT_REST)) return REFUSAL_RESTING;\n',
    '',
    'a request is refused for another reason while outputs are to rest',
  ]),
  ...mutantsOf('inputs.ts', [
    'rest-stays-armed',
    ' || line(INPUT_REST)) S.armed = 0;',
    ') S.armed = 0;',
    'a key that is turned on while outputs are to rest arms the box',
  ]),
  ...mutantsOf(
    'inputs.ts',
    [
      'key-drop-out-arms',
      'else if (S.key_off_ms >= TAKEN_BACK_TICKS)',
      'else if (S.key_off_ms > 0)',
      'a key that was off for one tick counts as turned off',
    ],
    [
      'key-at-power-up-arms',
      'else if (S.key_off_ms >= TAKEN_BACK_TICKS) S.armed = 1;',
      'else S.armed = 1;',
      'a box that boots with the key on is armed',
    ],
    [
      'key-off-stays-armed',
      'if (!line(INPUT_KEY) || line(INPUT_REST)) S.armed = 0;\n  else if (',
      'if (line(INPUT_KEY) && ',
      'the box stays armed when the key goes off',
    ],
    [
      'taken-back-one-tick-early',
      'const TAKEN_BACK_TICKS = 30;',
      'const TAKEN_BACK_TICKS = 29;',
      'key and request count as taken back a tick too early',
    ],
    [
      'request-drop-out-strikes',
      'if (S.request_off_ms >= TAKEN_BACK_TICKS)',
      'if (S.request_off_ms > 0)',
      'a request that drops out for one tick strikes again',
    ],
    [
      'touch-not-debounced',
      'S.touch = decide(S.touch, S.touch_count, SWITCH_TICKS);',
      'S.touch = line(INPUT_TOUCH) ? 1 : 0;',
      'the touch-off switch is taken with its bounce',
    ],
    [
      'breakaway-inverted',
      'integrate(S.breakaway_count, line(INPUT_BREAKAWAY),',
      'integrate(S.breakaway_count, !line(INPUT_BREAKAWAY),',
      'a seated torch counts as knocked out',
    ],
  ),
  ...mutantsOf(
    'inputs.ts',
    [
      'debounce-resets',
      'return count < down ? 0 : count - down;',
      'return 0;',
      'one reading of the other kind throws away what the debounce has counted',
    ],
    [
      'debounce-one-short',
      'return count >= maximum ? 1',
      'return count >= maximum - 1 ? 1',
      'the debounce decides one reading too early',
    ],
  ),
  ...mutantsOf(
    'sequence.ts',
    ['starts-unhomed', 'if (!S.homed) return REFUSAL_NOT_HOMED;', '', 'a start before Z was homed is taken'],
    ['starts-with-voltage', 'if (!nearZero()) return REFUSAL_VOLTAGE;', '', 'a start with voltage at the tap is taken'],
    ['starts-unarmed', 'if (!S.armed) return REFUSAL_KEY;', '', 'a start without the key is taken'],
    [
      'starts-on-held-request',
      'if (line(INPUT_REQUEST) && !S.request_was_off) return REFUSAL_REQUEST_HELD;',
      '',
      'a request that was never off starts a cut',
    ],
  ),
  ...mutantsOf(
    'module.ts',
    [
      'parameter-above-maximum',
      'value <= load<f32>(MAXIMA + at)',
      'value < load<f32>(MAXIMA + at) + 1',
      'a parameter a little above its maximum is taken',
    ],
    [
      'parameter-with-key-on',
      'if (line(INPUT_KEY) || S.mode != MODE_REST',
      'if (S.mode != MODE_REST',
      'parameters change with the key on',
    ],
    [
      'parameter-half-switch',
      'if (load<u8>(INTEGERS + <usize>id) && value != nearest<f32>(value)) return SET_RANGE;',
      '',
      'a switch takes 0.5',
    ],
    [
      'restart-ends-latched-stop',
      'if (latchesStop(fault)) raise(fault);',
      '',
      'a restart ends a fault that sets the latched stop',
    ],
    [
      'restart-keeps-every-fault',
      'if (latchesStop(fault)) raise(fault);',
      'if (fault != 0) raise(fault);',
      'a restart ends no fault',
    ],
    ['no-guard', '  guard();\n', '', 'the guard is never asked'],
    ['no-checks', '  checkAlways();\n', '', 'the checks of every mode are never made'],
    [
      'reset-forgets-edge',
      'S.reset_before = line(INPUT_RESET) ? 1 : 0;',
      '',
      'a reset button that is held counts as pressed again',
    ],
    [
      'power-up-remembers',
      'for (let at: usize = 0; at < STATE_BYTES; at += 4)',
      'for (let at: usize = 128; at < STATE_BYTES; at += 4)',
      'a part of the state outlives power-up',
    ],
    [
      'flag-wrong-limit',
      'S.limits & VELOCITY_LIMITED ?',
      'S.limits & ACCELERATION_LIMITED ?',
      'a limited acceleration is shown as a limited speed',
    ],
  ),
];

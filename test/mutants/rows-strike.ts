/** Defects of strikes and retries, of the proof, of contact, and of the guard’s last word. */
import { type Mutant, mutantsOf } from './mutant.js';

export const STRIKE_MUTANTS: readonly Mutant[] = [
  ...mutantsOf(
    'guard.ts',
    ['guard-starts-from-nothing', '    startFromParameters();\n', '', 'after numbers that are none the target is 0'],
    [
      'guard-renames-a-fault',
      'if (S.mode != MODE_FAULT) raise(FAULT_NOT_FINITE);',
      'raise(FAULT_NOT_FINITE);',
      'numbers that are none rename the fault that is latched',
    ],
    [
      'guard-steps-of-no-number',
      '    S.z_steps = 0;\n    if (S.mode',
      '    if (S.mode',
      'the steps of a tick whose numbers are none come out',
    ],
    ['guard-integral-unseen', '    unbounded(R.integral_mm_s) |\n', '', 'an integral that is no number is not seen'],
    ['guard-slope-unseen', '    unbounded(R.slope_y) |\n', '', 'a slope along Y that is no number is not seen'],
    [
      'guard-answer-unseen',
      '    unbounded(R.proof_slope_V_per_mm) |\n',
      '',
      'an answer to the strokes that is no number is shown',
    ],
  ),
  ...mutantsOf(
    'sequence.ts',
    [
      'retry-keeps-trigger',
      '  S.trigger = 0;\n  setMode(MODE_STRIKE, STAGE_FALL);',
      '  setMode(MODE_STRIKE, STAGE_FALL);',
      'a strike that failed stays lit',
    ],
    [
      'late-window-is-a-fault',
      '  else strikeFailed(FAULT_NO_ARC);\n}\n\n/** Another',
      '  else raise(FAULT_NO_ARC);\n}\n\n/** Another',
      'an arc that left the window on the way down gets no further attempt',
    ],
    [
      'arc-lost-on-the-way-down',
      '  if (!S.arc_ok) {\n    stop();\n    strikeFailed(FAULT_NO_ARC);\n    return;\n  }\n',
      '',
      'an arc that goes out on the way down goes unseen',
    ],
    [
      'refused-is-struck-again',
      '    raise(FAULT_NO_RESPONSE);\n',
      '    strikeFailed(FAULT_NO_RESPONSE);\n',
      'what the strokes have refused is struck again',
    ],
    [
      'pilot-not-struck-again',
      '    strikeFailed(FAULT_NO_RESPONSE);\n  }\n  return true',
      '    raise(FAULT_NO_RESPONSE);\n  }\n  return true',
      'a pilot gets no further attempt',
    ],
    [
      'pilot-asked-once',
      '    beginProof();\n    return false;\n  } else {',
      '    return false;\n  } else {',
      'a pilot that transfers is measured with what it was before',
    ],
    [
      'strike-in-the-stroke',
      '  if (strokesEnd()) stop();\n',
      '  if (strokesEnd()) return;\n',
      'Z goes on in the tick in which a verdict ends the strokes',
    ],
    [
      'retract-before-stop',
      'if (stop() && nearZero()) beginRise(MODE_RETRACT);',
      'if (nearZero()) beginRise(MODE_RETRACT);',
      'a torch on its way down is turned round by the retraction',
    ],
    [
      'touch-off-outlives-cut',
      '  S.owned = 0;\n  S.touched_off = 0;\n',
      '  S.owned = 0;\n',
      'a touch-off counts after Z was handed back',
    ],
  ),
  ...mutantsOf(
    'proof.ts',
    [
      'variance-for-deviation',
      'sqrt<f32>((COLOUR * noise_V2) / cell(Z, Z))',
      '(COLOUR * noise_V2) / cell(Z, Z)',
      'the variance of an answer is taken for its deviation',
    ],
    [
      'half-stroke-counts',
      '  if (Q.whole) {\n    Q.strokes++;',
      '  if (true) {\n    Q.strokes++;',
      'a stroke that began before the sums counts as whole',
    ],
    ['jump-not-noted', '  Q.jumped = 1;\n', '', 'a dwell that begins with a jump is counted from the stroke after it'],
    [
      'dwell-from-the-jump',
      '  S.timer = -D.arc_on_ticks;\n',
      '',
      'the dwell after a jump leaves out what arc OK takes',
    ],
    [
      'late-first-stroke',
      'if (!Q.jumped || first_late)',
      'if (!Q.jumped)',
      'an arc that began in the first stroke after a jump gets no longer dwell',
    ],
    [
      'first-jump-unseen',
      'Q.samples > 2 && Q.samples <= FORECAST_SAMPLES && exceeds(risen_V, FIRST_JUMP_V)',
      'false',
      'a jump in the first samples is taken for the pierce’s excess',
    ],
    [
      'grown-unseen',
      ' || hasGrown(deviation)) {',
      ') {',
      'strokes that answer more and more are stroked on to the last',
    ],
    [
      'stroke-outside-window',
      '  if (!insideWindow()) {\n    beginAgain();\n    return;\n  }\n',
      '',
      'a voltage outside the arc window is stroked on',
    ],
    [
      'drift-not-taken-out',
      ' - cell(0, 1) * drift',
      ' + cell(0, 1) * drift',
      'the drift is added to what each stroke answers',
    ],
    [
      'refused-by-sign-of-rest',
      'variance > LEAST_REST_V2 ? variance : LEAST_REST_V2',
      'variance',
      'a handful of samples that lie still proves anything',
    ],
    [
      'noise-refuses',
      '  if (variance > REST_V2) {\n    beginAgain();',
      '  if (variance > REST_V2) {\n    S.verdict = REFUSED;',
      'a voltage that jumps once is refused',
    ],
  ),
  ...mutantsOf(
    'faults.ts',
    [
      'contact-not-in-lift',
      'S.mode >= MODE_LIFT && S.mode <= MODE_HOLD;',
      'S.mode > MODE_LIFT && S.mode <= MODE_HOLD;',
      'a switch that closes again on the way to pierce height is not looked at',
    ],
    [
      'early-motion-remembers',
      '  if (!early) S.early_ms = 0;\n  else if',
      '  if (early) if',
      'single steps before the permit add up over the whole start',
    ],
    [
      'reversed-only-in-cut',
      'S.reversed_ms = S.trigger && F.mean_V',
      'S.reversed_ms = S.permit && F.mean_V',
      'a reversed lead is looked for only under the permit',
    ],
    [
      'fault-forgets-the-touch',
      '  if (latchesStop(fault)) S.latched_stop = 1;',
      '  S.latched_stop = latchesStop(fault) ? 1 : 0;',
      'a second fault closes the latched stop again',
    ],
  ),
  ...mutantsOf(
    'touch-off.ts',
    [
      'rise-onto-sheet-late',
      'S.touch ? S.z : S.z - mmToSteps(STUCK_LIFT_MM)',
      'S.z',
      'a torch that goes down where it should rise may go on for 5 mm',
    ],
    [
      'stuck-in-the-rise',
      '  if (!S.owned || !S.touch || S.z - S.z_contact < mmToSteps(STUCK_LIFT_MM)) return false;',
      '  if (!S.owned || !S.touch) return false;',
      'a torch that rises off the sheet counts as stuck to it',
    ],
    [
      'down-past-the-switch',
      'run(S.touch ? P.seek_fast_mm_s * <f32>0.5 : -P.seek_fast_mm_s);',
      'run(-P.seek_fast_mm_s);',
      'the first contact does not stop the search',
    ],
  ),
  ...mutantsOf('arc.ts', [
    'voltage-never-seen',
    'if (!nearZero()) S.voltage_seen = 1;',
    'if (insideWindow()) S.voltage_seen = 1;',
    'a no-load voltage above the window is no voltage',
  ]),
  ...mutantsOf(
    'ruler/excess.ts',
    [
      'dwell-of-the-pilot-before',
      '  L.halves = 0;\n  L.since_ms = 0;\n  store',
      '  store',
      'what the pierce leaves is told from a dwell that was broken off',
    ],
    [
      'strokes-in-the-dwell',
      ' - R.proof_slope_V_per_mm * z * D.mm_per_z_sum;',
      ';',
      'the strokes count as what the pierce leaves',
    ],
  ),
];

import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import {
  MODE_FAULT,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_REST,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
} from '../../firmware/wire/codes.gen.js';
import { NEXT_MODES } from '../../firmware/wire/mode-order.js';
import { all, FACT, type Invariant, invariant, never, none } from './facts.js';
import { FAULT_INVARIANTS } from './fault-invariants.js';
import { entered, fieldOf, goesOff, goesOn, modeOf, on, within } from './key.js';
import { SEQUENCE_INVARIANTS } from './sequence-invariants.js';

const DIGITAL_INPUTS = FACT.key | FACT.request | FACT.stop_chain;

/** Bounds that the guard alone keeps, whatever the sequence does: they hold from any state at all. */
export const GUARD_INVARIANTS: readonly Invariant[] = [
  invariant(
    'trigger-needs-inputs',
    'the trigger is on only in a tick with key and request on, the stop chain intact, and no late tick before it',
    (_, after) => on(after, 'trigger'),
    (facts) => all(facts, DIGITAL_INPUTS) && none(facts, FACT.late),
  ),
  never(
    'trigger-needs-state',
    'the trigger is on only when armed, touched off, without a fault, and from strike to hold',
    (_, after) =>
      on(after, 'trigger') &&
      !(on(after, 'armed') && on(after, 'touched_off') && !on(after, 'fault') && within(after, MODE_STRIKE, MODE_HOLD)),
  ),
  never(
    'permit-needs-trigger',
    'the motion permit is on only with the trigger on and no fault',
    (_, after) => on(after, 'permit') && !(on(after, 'trigger') && !on(after, 'fault')),
  ),
  never(
    'fault-is-off',
    'with a fault trigger and motion permit are off, in the same tick',
    (_, after) => on(after, 'fault') && (on(after, 'trigger') || on(after, 'permit')),
  ),
  invariant(
    'steps-need-ownership',
    'Z gets steps only while the box owns it',
    (_, after) => !on(after, 'owned'),
    (facts) => none(facts, FACT.z_up | FACT.z_down),
  ),
  invariant(
    'rest-takes-outputs',
    'where the outputs are to rest the box has neither trigger nor motion permit nor Z any longer, in the same tick',
    (_, after) => on(after, 'trigger') || on(after, 'permit') || on(after, 'owned'),
    (facts) => none(facts, FACT.resting),
  ),
  invariant(
    'not-above-takeover',
    'Z never rises above where it was taken over',
    (_, after) => on(after, 'owned'),
    (facts) => !all(facts, FACT.outward | FACT.z_up),
  ),
  invariant(
    'not-below-bounds',
    'no step of Z leads further down than the travel and the dive bound allow',
    (_, after) => on(after, 'owned'),
    (facts) => !all(facts, FACT.outward | FACT.z_down),
  ),
];

/** What must hold in every tick, whatever happened before. */
export const INVARIANTS: readonly Invariant[] = [
  ...GUARD_INVARIANTS,
  invariant(
    'trigger-rises-to-strike',
    'the trigger goes on only on the change from lift to strike, with Z owned and at rest',
    (before, after) => goesOn(before, after, 'trigger'),
    (facts, before, after) =>
      modeOf(before) === MODE_LIFT &&
      modeOf(after) === MODE_STRIKE &&
      on(after, 'owned') &&
      none(facts, FACT.z_up | FACT.z_down),
  ),
  never(
    'no-second-strike-after-permit',
    'once the motion permit was given in a contour the trigger never goes on again in it',
    (before, after) => goesOn(before, after, 'trigger') && on(after, 'permit_was_given'),
  ),
  never(
    'permit-is-remembered',
    'a motion permit is remembered as long as the contour lasts',
    (_, after) => on(after, 'permit') && !on(after, 'permit_was_given'),
  ),
  never(
    'contour-begins-again',
    'a cut begins with nothing of the one before: no touch-off, no strike, no motion permit',
    (before, after) =>
      entered(before, after, MODE_SEEK) &&
      (on(after, 'permit_was_given') || on(after, 'strikes') || on(after, 'touched_off')),
  ),
  never(
    'permit-mode',
    'the motion permit is on only in settle, follow and hold',
    (_, after) => on(after, 'permit') && !within(after, MODE_SETTLE, MODE_HOLD),
  ),
  never(
    'permit-needs-arc',
    'the motion permit is on only with an arc',
    (_, after) => on(after, 'permit') && !on(after, 'arc_ok'),
  ),
  never('latched-stop-cause', 'the latched stop is set only with a fault that latches it', (before, after) => {
    const fault = fieldOf(after, 'fault');
    return goesOn(before, after, 'latched_stop') && FAULT_ROWS[fault]?.latches_stop !== true;
  }),
  invariant(
    'latched-stop-stays',
    'only the reset input resets the latched stop',
    (before, after) => goesOff(before, after, 'latched_stop'),
    (facts) => all(facts, FACT.reset),
  ),
  invariant(
    'arming',
    'the box becomes armed only with the key on after it has been off for 30 ms; without the key, and while outputs are to rest, it is not armed',
    (_, after) => on(after, 'armed'),
    (facts, before) =>
      all(facts, FACT.key) && none(facts, FACT.resting) && (on(before, 'armed') || all(facts, FACT.key_was_off_long)),
  ),
  invariant(
    'start',
    'a cut starts only from rest, armed, homed, with outputs that need not rest, with key and stop chain, without voltage, and on a request that had been off for 30 ms',
    (before, after) => entered(before, after, MODE_SEEK),
    (facts, before, after) =>
      modeOf(before) === MODE_REST &&
      on(after, 'armed') &&
      on(after, 'homed') &&
      all(facts, DIGITAL_INPUTS | FACT.seated | FACT.near_zero) &&
      none(facts, FACT.resting) &&
      (on(before, 'request_was_off') || all(facts, FACT.request_was_off_long)),
  ),
  never(
    'rest-owns-nothing',
    'in rest the box does not own Z',
    (_, after) => modeOf(after) === MODE_REST && on(after, 'owned'),
  ),
  invariant(
    'hand-back-place',
    'Z is handed back where it was taken over, to the step, unless it must be homed',
    (before, after) => goesOff(before, after, 'owned') && on(after, 'homed'),
    (facts) => all(facts, FACT.taken_over),
  ),
  never(
    'homed',
    'Z becomes homed only while it belongs to the motion controller',
    (before, after) => goesOn(before, after, 'homed') && on(before, 'owned'),
  ),
  invariant(
    'no-descent-without-touch',
    'from strike to lower Z does not go down unless this start has found the sheet',
    (_, after) => within(after, MODE_STRIKE, MODE_LOWER) && !on(after, 'touched_off'),
    (facts) => none(facts, FACT.z_down),
  ),
  never('mode-order', 'the modes follow each other only as the sequence allows', (before, after) => {
    const [from, to] = [modeOf(before), modeOf(after)];
    return from !== to && (NEXT_MODES[from] & (1 << to)) === 0;
  }),
  never(
    'fault-mode',
    'a fault and the mode fault go together',
    (_, after) => on(after, 'fault') !== (modeOf(after) === MODE_FAULT),
  ),
  ...FAULT_INVARIANTS,
  ...SEQUENCE_INVARIANTS,
];

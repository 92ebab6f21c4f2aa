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
import { FACT } from './facts.js';
import { FAULT_INVARIANTS } from './fault-invariants.js';
import {
  all,
  entered,
  goesOff,
  goesOn,
  type Invariant,
  modeOf,
  never,
  none,
  on,
  requirement,
  within,
} from './invariant.js';
import { fieldOf } from './key.js';
import { SEQUENCE_INVARIANTS } from './sequence-invariants.js';

const DIGITAL_INPUTS = FACT.key | FACT.request | FACT.stop_chain;

/** Bounds that the guard alone keeps, whatever the sequence wants: they hold from any state whatever. */
export const GUARD_INVARIANTS: readonly Invariant[] = [
  requirement(
    'trigger-needs-lines',
    1,
    'the trigger is on only in a tick in which key, request and stop chain are on and no tick was late',
    (_, after) => on(after, 'trigger'),
    (facts) => all(facts, DIGITAL_INPUTS) && none(facts, FACT.late),
  ),
  never(
    'trigger-needs-state',
    1,
    'the trigger is on only when armed, touched off, without a fault, and from strike to hold',
    (_, after) =>
      on(after, 'trigger') &&
      !(on(after, 'armed') && on(after, 'touched_off') && !on(after, 'fault') && within(after, MODE_STRIKE, MODE_HOLD)),
  ),
  never(
    'permit-needs-trigger',
    7,
    'the motion permit is on only with the trigger on and no fault',
    (_, after) => on(after, 'permit') && !(on(after, 'trigger') && !on(after, 'fault')),
  ),
  never(
    'fault-is-off',
    10,
    'with a fault trigger and motion permit are off, in the same tick',
    (_, after) => on(after, 'fault') && (on(after, 'trigger') || on(after, 'permit')),
  ),
  requirement(
    'steps-need-ownership',
    8,
    'Z gets steps only while the box owns it',
    (_, after) => !on(after, 'owned'),
    (facts) => none(facts, FACT.z_up | FACT.z_down),
  ),
  requirement(
    'not-above-takeover',
    8,
    'Z never rises above where it was taken over',
    (_, after) => on(after, 'owned'),
    (facts) => !all(facts, FACT.above | FACT.z_up),
  ),
  requirement(
    'not-below-bounds',
    8,
    'no step of Z leads further down than the travel and the dive bound allow',
    (_, after) => on(after, 'owned'),
    (facts) => !all(facts, FACT.below | FACT.z_down),
  ),
];

/** What must hold in every tick, whatever happened before. */
export const INVARIANTS: readonly Invariant[] = [
  ...GUARD_INVARIANTS,
  requirement(
    'trigger-rises-to-strike',
    2,
    'the trigger goes on only on the way from pierce height to a strike, Z owned and standing still',
    (before, after) => goesOn(before, after, 'trigger'),
    (facts, before, after) =>
      modeOf(before) === MODE_LIFT &&
      modeOf(after) === MODE_STRIKE &&
      on(after, 'owned') &&
      none(facts, FACT.z_up | FACT.z_down),
  ),
  never(
    'no-second-strike-after-permit',
    3,
    'once the motion permit was given in a contour the trigger never goes on again in it',
    (before, after) => goesOn(before, after, 'trigger') && on(after, 'permit_was_given'),
  ),
  never(
    'permit-is-remembered',
    3,
    'that the motion permit is given is remembered as long as the contour lasts',
    (_, after) => on(after, 'permit') && !on(after, 'permit_was_given'),
  ),
  never(
    'contour-begins-again',
    3,
    'a cut begins without anything of the one before: no touch-off, no strike, no motion permit',
    (before, after) =>
      entered(before, after, MODE_SEEK) &&
      (on(after, 'permit_was_given') || on(after, 'strikes') || on(after, 'touched_off')),
  ),
  never(
    'permit-mode',
    7,
    'the motion permit is on only in settle, follow and hold',
    (_, after) => on(after, 'permit') && !within(after, MODE_SETTLE, MODE_HOLD),
  ),
  never(
    'permit-needs-arc',
    7,
    'the motion permit is on only with an arc',
    (_, after) => on(after, 'permit') && !on(after, 'arc_ok'),
  ),
  never('latched-stop-opens', 10, 'the latched stop opens only with a fault that latches it', (before, after) => {
    const fault = fieldOf(after, 'fault');
    return goesOn(before, after, 'latched_stop') && FAULT_ROWS[fault]?.latches_stop !== true;
  }),
  requirement(
    'latched-stop-stays',
    10,
    'the latched stop closes only by a reset',
    (before, after) => goesOff(before, after, 'latched_stop'),
    (facts) => all(facts, FACT.reset),
  ),
  requirement(
    'arming',
    1,
    'the box becomes armed only with the key on after it has been off for 30 ms; without the key it is not armed',
    (_, after) => on(after, 'armed'),
    (facts, before) => all(facts, FACT.key) && (on(before, 'armed') || all(facts, FACT.key_was_off_long)),
  ),
  requirement(
    'start',
    1,
    'a cut starts only from rest, armed, homed, with key, request and stop chain, without voltage, and on a request that had been taken back',
    (before, after) => entered(before, after, MODE_SEEK),
    (facts, before, after) =>
      modeOf(before) === MODE_REST &&
      on(after, 'armed') &&
      on(after, 'homed') &&
      all(facts, DIGITAL_INPUTS | FACT.seated | FACT.near_zero) &&
      (on(before, 'request_was_off') || all(facts, FACT.request_was_off_long)),
  ),
  never(
    'rest-owns-nothing',
    8,
    'in rest the box does not own Z',
    (_, after) => modeOf(after) === MODE_REST && on(after, 'owned'),
  ),
  requirement(
    'hand-back-place',
    8,
    'Z that counts as homed is handed back where it was taken over, to the step',
    (before, after) => goesOff(before, after, 'owned') && on(after, 'homed'),
    (facts) => all(facts, FACT.taken_over),
  ),
  never(
    'homed',
    8,
    'Z becomes homed only while it belongs to the motion controller',
    (before, after) => goesOn(before, after, 'homed') && on(before, 'owned'),
  ),
  requirement(
    'no-descent-without-touch',
    4,
    'from strike to lower Z does not go below where it is unless the sheet has been found in this start',
    (_, after) => within(after, MODE_STRIKE, MODE_LOWER) && !on(after, 'touched_off'),
    (facts) => none(facts, FACT.z_down),
  ),
  never('mode-order', 10, 'the modes follow each other only as the sequence allows', (before, after) => {
    const [from, to] = [modeOf(before), modeOf(after)];
    return from !== to && (NEXT_MODES[from] & (1 << to)) === 0;
  }),
  never(
    'fault-mode',
    10,
    'a fault and the mode fault go together',
    (_, after) => on(after, 'fault') !== (modeOf(after) === MODE_FAULT),
  ),
  ...FAULT_INVARIANTS,
  ...SEQUENCE_INVARIANTS,
];

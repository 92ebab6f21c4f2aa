import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import {
  FAULT_CONTACT,
  FAULT_EARLY_MOTION,
  FAULT_RELAY_CLOSED,
  FAULT_STRAY_MOTION,
  FAULT_VOLTAGE_AT_REST,
  MODE_FAULT,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
  STAGE_STOP,
} from '../../firmware/wire/codes.gen.js';
import { NEXT_MODES } from '../../firmware/wire/mode-order.js';
import { all, FACT, type Invariant, invariant, never, none } from './facts.js';
import { entered, fieldOf, goesOff, goesOn, modeOf, on, stageOf, within } from './key.js';
import { SEQUENCE_INVARIANTS } from './sequence-invariants.js';

// Apart from invariants.ts: all invariants in one file would be 460 lines.

/** A fault in which X and Y must come to rest. */
const forbidsMotion = (key: number) => on(key, 'permit_was_given') || fieldOf(key, 'fault') === FAULT_EARLY_MOTION;

/** What must become a fault, what a fault does, and how it is left. */
const FAULT_INVARIANTS: readonly Invariant[] = [
  invariant(
    'late-tick-faults',
    'a late tick is a fault',
    (_, after) => !on(after, 'fault'),
    (facts, before) => none(facts, FACT.late) || modeOf(before) === MODE_FAULT,
  ),
  invariant(
    'open-chain-faults',
    'from seek to retract an open stop chain is a fault in the same tick',
    (before, after) => within(before, MODE_SEEK, MODE_RETRACT) && !on(after, 'fault'),
    (facts) => all(facts, FACT.stop_chain),
  ),
  invariant(
    'knocked-out-faults',
    'from seek to retract a torch out of its holder is a fault in the same tick',
    (before, after) => within(before, MODE_SEEK, MODE_RETRACT) && !on(after, 'fault'),
    (facts) => all(facts, FACT.seated),
  ),
  invariant(
    'voltage-at-rest-faults',
    'voltage that lasts for its time, long after trigger off, is a fault that sets the latched stop',
    (before, after) => !on(before, 'trigger') && !on(after, 'latched_stop'),
    (facts) => !all(facts, FACT.voltage_lasted) || all(facts, FACT.near_zero),
  ),
  invariant(
    'voltage-at-rest-cause',
    'the fault voltage at rest is raised only by voltage that lasts for its time after it should have fallen',
    (before, after) =>
      fieldOf(after, 'fault') === FAULT_VOLTAGE_AT_REST && fieldOf(before, 'fault') !== FAULT_VOLTAGE_AT_REST,
    (facts) => all(facts, FACT.voltage_lasted) && none(facts, FACT.near_zero),
  ),
  invariant(
    'closed-contact-faults',
    'a firing contact that is closed against the trigger for its time is a fault that sets the latched stop',
    (before, after) => !on(before, 'trigger') && !on(after, 'latched_stop'),
    (facts) => none(facts, FACT.contact_lasted),
  ),
  invariant(
    'closed-contact-cause',
    'the fault of a closed firing contact is raised only by one that was closed against the trigger for its time',
    (before, after) =>
      fieldOf(after, 'fault') === FAULT_RELAY_CLOSED && fieldOf(before, 'fault') !== FAULT_RELAY_CLOSED,
    (facts) => all(facts, FACT.contact_lasted),
  ),
  invariant(
    'stray-motion-faults',
    'motion that goes on in a fault, with the request on, in a contour that had its motion permit or after early motion, sets the latched stop',
    (before, after) => modeOf(before) === MODE_FAULT && forbidsMotion(before) && !on(after, 'latched_stop'),
    (facts) => !all(facts, FACT.stray_lasted | FACT.request),
  ),
  invariant(
    'stray-motion-cause',
    'the fault stray motion is raised only by motion, with the request on, in a contour that had its motion permit or after early motion',
    (before, after) =>
      fieldOf(after, 'fault') === FAULT_STRAY_MOTION && fieldOf(before, 'fault') !== FAULT_STRAY_MOTION,
    (facts, before) => forbidsMotion(before) && all(facts, FACT.stray_lasted | FACT.request),
  ),
  invariant(
    'contact-faults',
    'a touch-off switch that has been closed for its time after the touch-off is a fault',
    (before, after) => within(before, MODE_LIFT, MODE_HOLD) && !on(after, 'fault'),
    (facts) => none(facts, FACT.closed_in_time),
  ),
  invariant(
    'contact-cause',
    'the fault contact is raised only by a touch-off switch that has been closed for its time after the touch-off',
    (before, after) => fieldOf(after, 'fault') === FAULT_CONTACT && fieldOf(before, 'fault') !== FAULT_CONTACT,
    (facts, before) => within(before, MODE_LIFT, MODE_HOLD) && all(facts, FACT.closed_in_time),
  ),
  invariant(
    'early-motion-faults',
    'motion that lasts for its time before the motion permit is a fault',
    (before, after) => within(before, MODE_SEEK, MODE_LOWER) && !on(after, 'fault'),
    (facts) => none(facts, FACT.stray_lasted),
  ),
  invariant(
    'early-motion-cause',
    'the fault early motion is raised only by motion that lasts for its time before the motion permit',
    (before, after) =>
      fieldOf(after, 'fault') === FAULT_EARLY_MOTION && fieldOf(before, 'fault') !== FAULT_EARLY_MOTION,
    (facts, before) => within(before, MODE_SEEK, MODE_LOWER) && all(facts, FACT.stray_lasted),
  ),
  invariant(
    'standstill-faults',
    'a table that has stood still for its time under the motion permit is a fault',
    (before, after) => on(before, 'permit') && !on(after, 'fault'),
    (facts) => none(facts, FACT.stood),
  ),
  never(
    'grave-faults-latch',
    'a fault that latches the stop sets it in the tick in which it is raised',
    (before, after) => {
      const fault = fieldOf(after, 'fault');
      const raised = fault !== fieldOf(before, 'fault');
      return raised && FAULT_ROWS[fault]?.latches_stop === true && !on(after, 'latched_stop');
    },
  ),
  invariant(
    'fault-stays',
    'a fault is left only by a reset, with the request off, the stop chain intact, the torch in its holder, no voltage and an open firing contact',
    (before, after) => goesOff(before, after, 'fault'),
    (facts) =>
      all(facts, FACT.reset | FACT.stop_chain | FACT.seated | FACT.near_zero) &&
      none(facts, FACT.request | FACT.firing_contact),
  ),
  invariant(
    'reset-edge',
    'a fault is left when reset is pressed, not while it is held',
    (before, after) => goesOff(before, after, 'fault'),
    (facts) => none(facts, FACT.reset_was_on),
  ),
  invariant(
    'reset-is-remembered',
    'whether reset is on is remembered for the next tick',
    () => true,
    (facts) => all(facts, FACT.reset) === all(facts, FACT.reset_kept),
  ),
  never(
    'latch-goes-with-fault',
    'the latched stop is set only as long as there is a fault',
    (_, after) => on(after, 'latched_stop') && !on(after, 'fault'),
  ),
  never(
    'fault-disarms',
    'a fault disarms: after it the key must be turned off and on',
    (before, after) => goesOn(before, after, 'fault') && (on(after, 'armed') || on(after, 'key_off_ms')),
  ),
  never(
    'fault-uses-up',
    'a request from before a fault starts nothing after it',
    (before, after) => goesOn(before, after, 'fault') && on(after, 'request_was_off'),
  ),
  never(
    'stopping-faults-stop',
    'a fault after which Z may not rise leads to a stop',
    (before, after) =>
      goesOn(before, after, 'fault') &&
      on(after, 'owned') &&
      stageOf(after) !== STAGE_STOP &&
      FAULT_ROWS[fieldOf(after, 'fault')]?.z_stops === true,
  ),
  invariant(
    'stopped-stays',
    'in a fault with the stop chain open or the torch out of its holder Z comes to a stop and does not rise',
    (_, after) => modeOf(after) === MODE_FAULT && on(after, 'owned') && stageOf(after) !== STAGE_STOP,
    (facts) => all(facts, FACT.stop_chain | FACT.seated),
  ),
  invariant(
    'stopped-is-not-homed',
    'after Z was stopped on the way it must be homed',
    (before, after) => goesOff(before, after, 'owned') && on(after, 'homed'),
    (facts, before) => all(facts, FACT.stop_chain | FACT.seated) && stageOf(before) !== STAGE_STOP,
  ),
  never(
    'rest-has-no-fault-left',
    'in rest nothing is left of a fault or a cut: no trigger, no strike, no touch-off',
    (before, after) =>
      entered(before, after, MODE_REST) && (on(after, 'trigger') || on(after, 'strikes') || on(after, 'touched_off')),
  ),
];

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

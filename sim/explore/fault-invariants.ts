// Apart from invariants.ts: all invariants in one file would be 460 lines.
import { FAULT_ROWS } from '../../firmware/wire/code-rows.js';
import {
  FAULT_RELAY_CLOSED,
  FAULT_STRAY_MOTION,
  FAULT_VOLTAGE_AT_REST,
  MODE_FAULT,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  STAGE_STOP,
} from '../../firmware/wire/codes.gen.js';
import { all, FACT, type Invariant, invariant, never, none } from './facts.js';
import { entered, fieldOf, goesOff, goesOn, modeOf, on, stageOf, within } from './key.js';

/** What must become a fault, what a fault does, and how it is left. */
export const FAULT_INVARIANTS: readonly Invariant[] = [
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
    'motion that goes on in a fault, with the request on, in a contour that had its motion permit, sets the latched stop',
    (before, after) => modeOf(before) === MODE_FAULT && on(before, 'permit_was_given') && !on(after, 'latched_stop'),
    (facts) => !all(facts, FACT.stray_lasted | FACT.request),
  ),
  invariant(
    'stray-motion-cause',
    'the fault stray motion is raised only by motion, with the request on, in a contour that had its motion permit',
    (before, after) =>
      fieldOf(after, 'fault') === FAULT_STRAY_MOTION && fieldOf(before, 'fault') !== FAULT_STRAY_MOTION,
    (facts, before) => on(before, 'permit_was_given') && all(facts, FACT.stray_lasted | FACT.request),
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

// Apart from invariants.ts: all invariants in one file would be 460 lines.
import {
  FAULT_NO_ARC,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_REST,
  MODE_SEEK,
  MODE_STRIKE,
  STAGE_DOWN,
  STAGE_FALL,
  STAGE_FAST,
  STAGE_OVER,
  STAGE_RISE,
  STAGE_UP,
} from '../../firmware/wire/codes.gen.js';
import { all, FACT, type Invariant, invariant, never, none } from './facts.js';
import { entered, fieldOf, goesOn, modeOf, on, stageOf, within } from './key.js';
import { STRIKES_MOST } from './world.js';

const STROKE_STAGES: readonly number[] = [STAGE_UP, STAGE_OVER, STAGE_DOWN];

/** What the sequence must do between the modes. */
export const SEQUENCE_INVARIANTS: readonly Invariant[] = [
  invariant(
    'request-withdrawn',
    'a request counts as withdrawn only after it has been off for 30 ms: one that drops out does not strike again',
    (before, after) => goesOn(before, after, 'request_was_off'),
    (facts) => all(facts, FACT.request_was_off_long) && none(facts, FACT.request),
  ),
  invariant(
    'refusal-uses-up',
    'a refused request is used up: it starts nothing when the cause of the refusal goes',
    (before, after) => modeOf(before) === MODE_REST && modeOf(after) === MODE_REST && on(after, 'request_was_off'),
    (facts) => none(facts, FACT.request),
  ),
  invariant(
    'request-and-key-hold-the-cut',
    'request or key off, or outputs that are to rest, end the cut in the same tick',
    (before, after) => within(before, MODE_SEEK, MODE_HOLD) && within(after, MODE_SEEK, MODE_HOLD),
    (facts) => all(facts, FACT.key | FACT.request) && none(facts, FACT.resting),
  ),
  invariant(
    'search-begins-open',
    'a touch-off switch that is closed when the search begins is a fault',
    (before, after) => modeOf(before) === MODE_SEEK && stageOf(before) === STAGE_FAST && modeOf(after) === MODE_SEEK,
    (facts) => none(facts, FACT.closed_in_time),
  ),
  invariant(
    'room-for-pierce-height',
    'a sheet so near that pierce height is above where Z was taken over is a fault, not a strike',
    (before, after) => modeOf(before) === MODE_SEEK && modeOf(after) === MODE_LIFT,
    (facts) => all(facts, FACT.height),
  ),
  invariant(
    'strike-height',
    'the trigger goes on only at pierce height above the touched sheet',
    (before, after) => goesOn(before, after, 'trigger'),
    (facts) => all(facts, FACT.height),
  ),
  invariant(
    'permit-height',
    'the motion permit goes on only at cut height above the touched sheet',
    (before, after) => goesOn(before, after, 'permit'),
    (facts) => all(facts, FACT.height),
  ),
  invariant(
    'permit-needs-arc-voltage',
    'the motion permit goes on only at a voltage inside the arc window',
    (before, after) => goesOn(before, after, 'permit'),
    (facts) => all(facts, FACT.arc_voltage),
  ),
  never(
    'permit-needs-proof',
    'the motion permit goes on only after the voltage has answered to the torch since the trigger went on',
    (before, after) => goesOn(before, after, 'permit') && !on(after, 'proved'),
  ),
  never(
    'proof-needs-strokes',
    'an arc is proved only by strokes of the torch in pierce',
    (before, after) =>
      goesOn(before, after, 'proved') && !(modeOf(before) === MODE_PIERCE && STROKE_STAGES.includes(stageOf(before))),
  ),
  invariant(
    'proof-ends-with-the-window',
    'from pierce to lower an arc whose voltage has left the arc window is proved no longer',
    (_, after) => within(after, MODE_PIERCE, MODE_LOWER) && on(after, 'proved'),
    (facts) => all(facts, FACT.arc_voltage),
  ),
  invariant(
    'strokes-above-pierce-height',
    'in pierce no step of Z leads down below pierce height',
    (before, after) => modeOf(before) === MODE_PIERCE && modeOf(after) === MODE_PIERCE,
    (facts) => none(facts, FACT.z_down) || all(facts, FACT.height),
  ),
  invariant(
    'rise-needs-no-voltage',
    'the torch rises after a cut only when the voltage has fallen',
    (before, after) => stageOf(after) === STAGE_RISE && stageOf(before) !== STAGE_RISE,
    (facts) => all(facts, FACT.near_zero),
  ),
  invariant(
    'attempt-needs-no-voltage',
    'another attempt begins only when the voltage of the one before has fallen',
    (before, after) => modeOf(before) === MODE_STRIKE && modeOf(after) === MODE_LIFT,
    (facts) => all(facts, FACT.near_zero),
  ),
  never(
    'no-blind-attempt',
    'a strike without any voltage is not tried again',
    (before, after) =>
      modeOf(before) === MODE_STRIKE &&
      stageOf(before) !== STAGE_FALL &&
      modeOf(after) === MODE_STRIKE &&
      stageOf(after) === STAGE_FALL &&
      !on(after, 'voltage_seen'),
  ),
  never(
    'attempts-are-counted',
    'there are no more strikes in a contour than the attempts allow, and each is counted',
    (before, after) =>
      goesOn(before, after, 'trigger') &&
      (fieldOf(after, 'strikes') > STRIKES_MOST || fieldOf(after, 'strikes') !== fieldOf(before, 'strikes') + 1),
  ),
  never(
    'last-attempt-is-a-fault',
    'after a failed strike another attempt begins only if one is left',
    (before, after) =>
      modeOf(after) === MODE_STRIKE &&
      stageOf(after) === STAGE_FALL &&
      stageOf(before) !== STAGE_FALL &&
      fieldOf(after, 'strikes') >= STRIKES_MOST,
  ),
  never(
    'attempt-left-is-taken',
    'without an arc the cut is given up only when no attempt is left',
    (before, after) =>
      fieldOf(after, 'fault') === FAULT_NO_ARC && !on(before, 'fault') && fieldOf(before, 'strikes') < STRIKES_MOST,
  ),
  invariant(
    'arc-needs-evidence',
    'an arc counts only at a voltage inside the arc window',
    (before, after) => goesOn(before, after, 'arc_ok'),
    (facts) => all(facts, FACT.arc_voltage),
  ),
  invariant(
    'arc-needs-contact',
    'where the supply has a contact an arc counts only with the contact closed',
    (before, after) => goesOn(before, after, 'arc_ok'),
    (facts) => all(facts, FACT.contact),
  ),
  invariant(
    'arc-goes',
    'a voltage that has been outside the arc window for its time is no arc',
    (_, after) => on(after, 'arc_ok'),
    (facts) => none(facts, FACT.arc_gone),
  ),
  never(
    'evidence-of-this-strike',
    'no evidence of an arc outlasts the tick after trigger off',
    (before, after) =>
      !on(before, 'trigger') &&
      !on(after, 'trigger') &&
      (on(after, 'arc_ok') || on(after, 'proved') || on(after, 'voltage_seen')),
  ),
  never(
    'arc-modes-burn',
    'from pierce to hold the trigger is on and there is an arc',
    (_, after) => within(after, MODE_PIERCE, MODE_HOLD) && !(on(after, 'trigger') && on(after, 'arc_ok')),
  ),
  invariant(
    'follow-needs-motion',
    'the regulator takes over only after X and Y have moved',
    (before, after) => modeOf(before) !== MODE_HOLD && entered(before, after, MODE_FOLLOW),
    (facts) => all(facts, FACT.moved),
  ),
  invariant(
    'hold-input-holds',
    'follow does not go on with the hold input on, its path not used up, and an arc’s voltage',
    (before, after) => modeOf(before) === MODE_FOLLOW && modeOf(after) === MODE_FOLLOW,
    (facts) => !all(facts, FACT.held | FACT.arc_voltage),
  ),
  never(
    'hold-cause-in-cut',
    'there is a cause to hold, or limited speed, only in follow and hold',
    (_, after) => on(after, 'hold') && modeOf(after) !== MODE_FOLLOW && modeOf(after) !== MODE_HOLD,
  ),
];

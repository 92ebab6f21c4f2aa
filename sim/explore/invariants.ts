import {
  FAULT_STANDSTILL,
  FAULT_STRAY_MOTION,
  FAULT_VOLTAGE_AT_REST,
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_REST,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
} from '../../firmware/wire/codes.gen.js';
import { LINE_KEY, LINE_OVERRUN, LINE_REQUEST, LINE_RESET, LINE_STOP_CHAIN } from '../../firmware/wire/layout.js';
import { NEXT_MODES } from '../../firmware/wire/mode-order.js';
import { fieldOf } from './key.js';
import { type Invariant, law, on, SEQUENCE_INVARIANTS } from './sequence-invariants.js';

const has = (lines: number, bits: number) => (lines & bits) === bits;
/** What must hold in every tick, whatever happened before. */
export const INVARIANTS: readonly Invariant[] = [
  law(
    'trigger-needs-lines',
    1,
    'the trigger is on only in a tick in which key, request and stop chain are on and no tick was late',
    ({ after, lines }) =>
      !on(after, 'trigger') || (has(lines, LINE_KEY | LINE_REQUEST | LINE_STOP_CHAIN) && (lines & LINE_OVERRUN) === 0),
  ),
  law(
    'trigger-needs-state',
    1,
    'the trigger is on only when armed, touched off, without a fault, and from strike to hold',
    ({ after }) => {
      if (!on(after, 'trigger')) return true;
      const mode = fieldOf(after, 'mode');
      return (
        on(after, 'armed') &&
        on(after, 'touched_off') &&
        !on(after, 'fault') &&
        mode >= MODE_STRIKE &&
        mode <= MODE_HOLD
      );
    },
  ),
  law(
    'trigger-rises-to-strike',
    2,
    'the trigger goes on only on the way from pierce height to a strike, Z owned and standing still',
    ({ before, after, z_steps }) =>
      on(before, 'trigger') ||
      !on(after, 'trigger') ||
      (fieldOf(before, 'mode') === MODE_LIFT &&
        fieldOf(after, 'mode') === MODE_STRIKE &&
        on(after, 'owned') &&
        z_steps === 0),
  ),
  law(
    'no-second-strike-after-permit',
    3,
    'once the motion permit was given in a contour the trigger never goes on again in it',
    ({ before, after }) => on(before, 'trigger') || !on(after, 'trigger') || !on(after, 'permit_was_given'),
  ),
  law(
    'permit-needs-trigger',
    7,
    'the motion permit is on only with the trigger on and no fault',
    ({ after }) => !on(after, 'permit') || (on(after, 'trigger') && !on(after, 'fault')),
  ),
  law('permit-mode', 7, 'the motion permit is on only in settle, follow and hold', ({ after }) => {
    const mode = fieldOf(after, 'mode');
    return !on(after, 'permit') || (mode >= MODE_SETTLE && mode <= MODE_HOLD);
  }),
  law(
    'permit-needs-arc',
    7,
    'the motion permit goes on only with an arc',
    ({ before, after }) => on(before, 'permit') || !on(after, 'permit') || on(after, 'arc_ok'),
  ),
  law(
    'fault-is-off',
    10,
    'with a fault trigger and motion permit are off, in the same tick',
    ({ after }) => !on(after, 'fault') || (!on(after, 'trigger') && !on(after, 'permit')),
  ),
  law(
    'fault-mode',
    10,
    'a fault and the mode fault go together',
    ({ after }) => on(after, 'fault') === (fieldOf(after, 'mode') === MODE_FAULT),
  ),
  law(
    'fault-stays',
    10,
    'a fault is left only by a reset, with the request off, the stop chain closed, the torch in its holder and no voltage',
    ({ before, after, lines, seated, near_zero }) =>
      !on(before, 'fault') ||
      on(after, 'fault') ||
      (has(lines, LINE_RESET | LINE_STOP_CHAIN) && seated && near_zero && (lines & LINE_REQUEST) === 0),
  ),
  law('latched-stop-opens', 10, 'the latched stop opens only with a fault that latches it', ({ before, after }) => {
    if (on(before, 'latched_stop') || !on(after, 'latched_stop')) return true;
    const fault = fieldOf(after, 'fault');
    return fault === FAULT_VOLTAGE_AT_REST || fault === FAULT_STRAY_MOTION || fault === FAULT_STANDSTILL;
  }),
  law(
    'latched-stop-stays',
    10,
    'the latched stop closes only by a reset',
    ({ before, after, lines }) =>
      !on(before, 'latched_stop') || on(after, 'latched_stop') || (lines & LINE_RESET) !== 0,
  ),
  law(
    'arming',
    1,
    'the box becomes armed only with the key on after it has been off for 30 ms; without the key it is not armed',
    ({ before, after, lines, key_was_off_long }) => {
      if (!on(after, 'armed')) return true;
      if ((lines & LINE_KEY) === 0) return false;
      return on(before, 'armed') || key_was_off_long;
    },
  ),
  law(
    'fault-disarms',
    10,
    'a fault disarms: the key must be turned off and on',
    ({ before, after }) => on(before, 'fault') || !on(after, 'fault') || !on(after, 'armed'),
  ),
  law(
    'start',
    1,
    'a cut starts only from rest, armed, homed, with key, request and stop chain, without voltage, and on a request that had been taken back',
    ({ before, after, lines, seated, near_zero, request_was_off_long }) =>
      fieldOf(after, 'mode') !== MODE_SEEK ||
      fieldOf(before, 'mode') === MODE_SEEK ||
      (fieldOf(before, 'mode') === MODE_REST &&
        on(after, 'armed') &&
        on(after, 'homed') &&
        has(lines, LINE_KEY | LINE_REQUEST | LINE_STOP_CHAIN) &&
        seated &&
        near_zero &&
        (on(before, 'request_was_off') || request_was_off_long)),
  ),
  law(
    'steps-need-ownership',
    8,
    'Z gets steps only while the box owns it',
    ({ after, z_steps }) => z_steps === 0 || on(after, 'owned'),
  ),
  law(
    'rest-owns-nothing',
    8,
    'in rest the box does not own Z',
    ({ after }) => fieldOf(after, 'mode') !== MODE_REST || !on(after, 'owned'),
  ),
  law(
    'hand-back',
    8,
    'Z is handed back only in a tick without steps',
    ({ before, after, z_steps }) => !on(before, 'owned') || on(after, 'owned') || z_steps === 0,
  ),
  law(
    'homed',
    8,
    'Z becomes homed only while it belongs to the motion controller',
    ({ before, after }) => on(before, 'homed') || !on(after, 'homed') || !on(before, 'owned'),
  ),
  law(
    'no-descent-without-touch',
    4,
    'from strike to lower Z does not go below where it is unless the sheet has been found in this start',
    ({ after, z_steps }) => {
      const mode = fieldOf(after, 'mode');
      return z_steps >= 0 || mode < MODE_STRIKE || mode > MODE_LOWER || on(after, 'touched_off');
    },
  ),
  law('mode-order', 10, 'the modes follow each other only as the sequence allows', ({ before, after }) => {
    const from = fieldOf(before, 'mode');
    const to = fieldOf(after, 'mode');
    return from === to || (NEXT_MODES[from]! & (1 << to)) !== 0;
  }),
  ...SEQUENCE_INVARIANTS,
  law('arc-modes-burn', 2, 'from pierce to hold the trigger is on', ({ after }) => {
    const mode = fieldOf(after, 'mode');
    return (
      (mode !== MODE_PIERCE &&
        mode !== MODE_LOWER &&
        mode !== MODE_SETTLE &&
        mode !== MODE_FOLLOW &&
        mode !== MODE_HOLD) ||
      on(after, 'trigger')
    );
  }),
];

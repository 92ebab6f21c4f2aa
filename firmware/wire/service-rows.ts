/** The services of the link, and the states of the box in which each is refused: behaviour, notes and a test follow these rows. */

/** Where a box can stand, as far as its services care; the last one is of the loader. */
export const BOX_STATES = [
  ['rest', 'key off, at rest, no voltage at the tap'],
  ['key', 'key on, at rest or in a cut'],
  ['voltage', 'key off, at rest, voltage at the tap'],
  ['fault', 'key off, in a fault'],
  ['desk', 'desk state, key off'],
  ['desk-key', 'desk state, key on'],
  ['lockstep', 'key off, in lockstep with a host'],
  ['loader-key', 'the loader answers, key on'],
] as const;
export type BoxState = (typeof BOX_STATES)[number][0];

/** The status that a right request is refused with, by state; where none stands it is done. */
export type Refusals = Readonly<Partial<Record<BoxState, string>>>;

const ALWAYS: Refusals = {};
const KEY_OFF = { key: 'key', 'desk-key': 'key' } as const;
const CHANGES: Refusals = { ...KEY_OFF, voltage: 'voltage', fault: 'busy', lockstep: 'lockstep' };
const BEGINS_LOCKSTEP: Refusals = { ...KEY_OFF, voltage: 'voltage', fault: 'busy' };
const NOT_BEGUN = 'not-begun';
const IN_LOCKSTEP: Refusals = {
  rest: NOT_BEGUN,
  key: NOT_BEGUN,
  voltage: NOT_BEGUN,
  fault: NOT_BEGUN,
  desk: NOT_BEGUN,
  'desk-key': NOT_BEGUN,
};
const BEGINS_DESK: Refusals = { ...KEY_OFF, lockstep: 'lockstep' };
const FROM_DESK: Refusals = { ...KEY_OFF, rest: NOT_BEGUN, voltage: NOT_BEGUN, fault: NOT_BEGUN, lockstep: NOT_BEGUN };
const TRIES: Refusals = { ...FROM_DESK, lockstep: 'lockstep' };
const LOADER_KEY_OFF: Refusals = { 'loader-key': 'key' };

export interface ServiceRow {
  readonly code: number;
  readonly name: string;
  /** Who offers it. */
  readonly by: 'box' | 'loader' | 'both';
  readonly meaning: string;
  /** Names of the payload layouts in LAYOUTS; empty: no payload. */
  readonly request: string;
  readonly answer: string;
  readonly refused: Refusals;
}

const service = (
  code: number,
  name: string,
  by: ServiceRow['by'],
  request: string,
  answer: string,
  meaning: string,
  refused: Refusals = ALWAYS,
): ServiceRow => ({ code, name, by, request, answer, meaning, refused });

export const SERVICE_ROWS: readonly ServiceRow[] = [
  service(1, 'identity', 'both', '', 'identity', 'who answers, what it runs and why it started'),
  service(2, 'ping', 'both', '', 'ping', 'sign of life; also keeps an agreed speed of the line'),
  service(3, 'line-speed', 'both', 'line_speed', 'line_speed', 'change the speed after this answer'),
  service(4, 'parameters-read', 'box', 'span', 'values', 'parameters in use, by id'),
  service(5, 'parameters-stage', 'box', 'values', 'staged', 'stage values; nothing changes yet', CHANGES),
  service(6, 'parameters-check', 'box', '', 'staged', 'would the module accept the staged values', CHANGES),
  service(7, 'parameters-commit', 'box', '', 'staged', 'put them into use and store them in flash', CHANGES),
  service(8, 'telemetry', 'box', 'telemetry_request', 'telemetry_request', 'start or stop the stream'),
  service(9, 'telemetry-row', 'box', '', 'telemetry', 'one tick; sent by itself'),
  service(10, 'events-read', 'box', 'span', 'events', 'what happened, also before the last reset'),
  service(11, 'history-read', 'box', 'span', 'history', 'the last seconds, sampled; stops at a fault'),
  service(12, 'readings', 'box', '', 'readings', 'mean and spread of the raw readings of the last second'),
  service(
    13,
    'lockstep-begin',
    'box',
    '',
    'identity',
    'outputs rest, the second copy of the module is the host’s',
    BEGINS_LOCKSTEP,
  ),
  service(
    14,
    'lockstep-ticks',
    'box',
    'tick_inputs',
    'tick_outputs',
    'inputs of some ticks, as many as their outputs fill an answer; these outputs; the last LOCKSTEP_KEPT outputs are given again to who asks again',
    IN_LOCKSTEP,
  ),
  service(15, 'lockstep-end', 'box', '', '', 'back to the pins, from power-up'),
  service(
    16,
    'lockstep-parameter',
    'box',
    'one_value',
    'one_answer',
    'set_parameter of the module in lockstep',
    IN_LOCKSTEP,
  ),
  service(17, 'trim', 'box', 'trim', 'trim', 'trim_V alone, also with the key on; nothing is written to flash', {
    lockstep: 'lockstep',
  }),
  service(18, 'desk-begin', 'box', '', '', 'the desk state: outputs rest by the port until a restart', BEGINS_DESK),
  service(19, 'state', 'box', '', 'state', 'where the box stands: mode, fault, inputs, outputs, desk state'),
  service(20, 'loader-enter', 'box', '', '', 'reset into the loader', CHANGES),
  service(
    21,
    'update-begin',
    'loader',
    'image_head',
    'update_state',
    'announce an image; says where it goes on',
    LOADER_KEY_OFF,
  ),
  service(22, 'update-write', 'loader', 'update_bytes', 'update_state', 'bytes of the image at their place'),
  service(
    23,
    'update-finish',
    'loader',
    '',
    'update_state',
    'verify, then mark the slot as the newest',
    LOADER_KEY_OFF,
  ),
  service(
    24,
    'restart',
    'both',
    '',
    '',
    'start the newest valid image; the box does so from the desk state alone',
    FROM_DESK,
  ),
  service(
    25,
    'slot',
    'both',
    'slot_request',
    'slot',
    'what a slot holds; the SHA-256 of its body is computed for it, within 0.2 s. The loader: `busy` while the chip is at work',
    KEY_OFF,
  ),
  service(
    26,
    'trial-outputs',
    'box',
    'trial_outputs',
    'trial_counts',
    'raise outputs of a box that is not wired, but never the trigger; they rest half a second after the last request',
    TRIES,
  ),
  service(27, 'trial-failure', 'box', 'trial_failure', '', 'fail on purpose, and start again', TRIES),
];

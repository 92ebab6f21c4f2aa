/**
 * The link between box and host, written once: services, answers, and the layout of every payload. The host's codec reads
 * these rows; the C header `wire.gen.h` is generated from them. Numbers are never reused.
 *
 * A frame is, before stuffing: service u8, status u8, sequence u16, payload, CRC-32 u32 over all before it; little-endian.
 * On the line it is stuffed by COBS (Cheshire & Baker) and ended by one 0 byte. A request has status 0; its answer has the
 * service with ANSWER added and the same sequence. A stream frame (telemetry) carries a sequence of its own, so that a gap
 * shows. Requests are idempotent: the host may send one again after a lost answer.
 */
import { BOARD_FIELDS, HISTORY_NAMES, INPUT_ROWS, OUTPUT_ROWS, placedInputs, placedOutputs } from './tick-rows.js';

export { BOOT_ROWS, EVENT_ROWS, ORIGIN_ROWS, SLOT_ROWS, STATUS_ROWS, type StatusRow } from './link-code-rows.js';
export { BOX_STATES, type BoxState, SERVICE_ROWS, type ServiceRow } from './service-rows.js';

/** Added to the service in every frame that the box sends. */
export const ANSWER = 0x80;
/** Longest payload, bytes: a page of flash and its place. */
export const PAYLOAD_MOST = 320;
/** Header and CRC, bytes. */
export const FRAME_EXTRA = 8;
/** Speed of the line after every reset, and again when an agreed speed brings no whole frame for a second. */
export const BAUD_AT_START = 115200;
/** A box has run its checks, and stands where its wiring lets it, so many ticks after a start. */
export const SETTLED_TICK = 1500;
/** Outputs of a box in lockstep that are kept, ticks: lockstep-ticks is then idempotent with four frames under way. */
export const LOCKSTEP_KEPT = 16;

export type FieldType = 'u8' | 'u16' | 'u32' | 'i16' | 'i32' | 'f32' | 'bytes' | 'text';

export interface FieldRow {
  readonly name: string;
  readonly type: FieldType;
  /** Elements; 1 for a single value. `bytes` and `text` (zero-padded ASCII): their length. */
  readonly count: number;
  readonly meaning: string;
}

export interface LayoutRow {
  readonly name: string;
  /** The payload is this head, then any number of `repeats` records (0 if ''). */
  readonly repeats: string;
  readonly fields: readonly FieldRow[];
}

type Bare = readonly [string, FieldType, number, string];
const layout = (name: string, fields: readonly Bare[], repeats = ''): LayoutRow => ({
  name,
  repeats,
  fields: fields.map(([field, type, count, meaning]) => ({ name: field, type, count, meaning })),
});

const TICK: Bare = ['tick', 'u32', 1, 'its number'];
const field = ({ name, type, meaning }: { name: string; type: FieldType; meaning: string }): Bare => [
  name,
  type,
  1,
  meaning,
];

/** A tick as it is sent: the narrow fields before the wide ones, so that none leaves a gap. */
function telemetryFields(): Bare[] {
  const outputs = OUTPUT_ROWS.filter(({ telemetry }) => telemetry);
  const isWide = ({ type }: { type: FieldType }) => type === 'i32' || type === 'f32';
  const inputs = INPUT_ROWS.filter(({ telemetry }) => telemetry);
  const narrow = outputs.filter((row) => !isWide(row));
  return [TICK, ...[...inputs, ...narrow, ...BOARD_FIELDS, ...outputs.filter(isWide)].map(field)];
}

/** A tick as the history keeps it. */
function historyFields(): Bare[] {
  const rows = [...INPUT_ROWS, ...OUTPUT_ROWS];
  return [TICK, ...HISTORY_NAMES.map((name) => field(rows.find((row) => row.name === name)!))];
}

/** Every field lies at a multiple of its size, so that C reads it in place. */
export const LAYOUTS: readonly LayoutRow[] = [
  layout('identity', [
    ['protocol', 'u16', 1, 'version of this link'],
    ['board', 'u16', 1, 'kind of board, BOARD_KIND'],
    ['in_loader', 'u8', 1, '1: the loader answers, 0: the box'],
    ['boot', 'u8', 1, 'why it started, BOOT_*'],
    ['slot', 'u8', 1, 'slot that runs or would be started, 0 or 1; 255: none'],
    ['fault_before', 'u8', 1, 'fault of the module when the box last stopped by itself'],
    ['generation', 'u32', 1, 'generation of that slot'],
    ['parameter_generation', 'u32', 1, 'generation of the parameters kept; 0: defaults'],
    ['parameter_count', 'u16', 1, 'parameters of the module'],
    ['capacity', 'u16', 1, 'Z steps that the board can put out in a millisecond; 0: not told'],
    ['tick', 'u32', 1, 'ticks since the start'],
    ['worst_tick_cycles', 'u32', 1, 'longest tick since the start, processor cycles'],
    ['cycles_per_ms', 'u32', 1, 'processor cycles in a millisecond'],
    ['version', 'text', 16, 'version of the firmware'],
    ['module_sha256', 'bytes', 32, 'of the control module'],
    ['image_sha256', 'bytes', 32, 'of the body of the image'],
    [
      'chip_id',
      'u32',
      1,
      'as the chip names itself: revision in the upper 4 bits, part in 16, maker in 12; 0: not told',
    ],
  ]),
  layout('ping', [['tick', 'u32', 1, 'ticks since the start']]),
  layout('state', [
    ['tick', 'u32', 1, 'ticks since the start'],
    ['digital_inputs', 'u32', 1, 'INPUT_*'],
    ['digital_outputs', 'u32', 1, 'OUTPUT_* at the pins'],
    ['flags', 'u32', 1, 'FLAG_*'],
    ['measured_V', 'f32', 1, 'arc voltage as the box sees it'],
    ['mode', 'u8', 1, 'MODE_*'],
    ['fault', 'u8', 1, 'FAULT_*; 0: none'],
    ['refusal', 'u8', 1, 'why the module would not start, REFUSAL_*'],
    ['desk', 'u8', 1, '1: in the desk state'],
  ]),
  layout('line_speed', [['baud', 'u32', 1, 'bit/s']]),
  layout('span', [
    ['first', 'u32', 1, 'id or number of the first record wanted'],
    ['count', 'u32', 1, 'how many at most; fewer may come'],
  ]),
  layout('value', [
    ['id', 'u16', 1, 'of the parameter'],
    ['spare', 'u16', 1, '0'],
    ['value', 'f32', 1, ''],
  ]),
  layout('values', [], 'value'),
  layout('staged', [
    ['count', 'u16', 1, 'values put aside'],
    ['id', 'u16', 1, 'parameter that was refused, or 65535'],
    ['generation', 'u32', 1, 'generation of the parameters kept'],
    ['other', 'u16', 1, 'the parameter that it contradicts, or 65535'],
    ['spare', 'u16', 1, '0'],
  ]),
  layout('telemetry_request', [['every_ms', 'u16', 1, 'a row every so many ticks; 0: none']]),
  layout('telemetry', telemetryFields()),
  layout('event', [
    ['tick', 'u32', 1, 'when'],
    ['start', 'u16', 1, 'which start of the box, counted'],
    ['kind', 'u16', 1, 'EVENT_*'],
    ['detail', 'u32', 1, ''],
    ['value', 'i32', 1, ''],
  ]),
  layout(
    'events',
    [
      ['first', 'u32', 1, 'number of the first event here'],
      ['next', 'u32', 1, 'number that the next event will get'],
    ],
    'event',
  ),
  layout('moment', historyFields()),
  layout(
    'history',
    [
      ['first', 'u32', 1, 'number of the first record here'],
      ['next', 'u32', 1, 'number that the next record will get'],
    ],
    'moment',
  ),
  layout('readings', [
    ['count', 'u32', 1, 'readings of the last whole second'],
    ['sum', 'u32', 1, 'of their counts'],
    ['square_sum_low', 'u32', 1, 'sum of (counts − least)², low half'],
    ['square_sum_high', 'u32', 1, 'high half'],
    ['least', 'u16', 1, ''],
    ['most', 'u16', 1, ''],
    ['reference', 'u16', 1, 'last reading of the board’s reference'],
    ['spare', 'u16', 1, '0'],
  ]),
  layout(
    'tick_inputs',
    [['first', 'u32', 1, 'ticks since lockstep-begin before these; more than were done: refused for their place']],
    'tick_input',
  ),
  layout('tick_input', [['block', 'bytes', placedInputs().bytes, 'input block of the module, INPUT_*']]),
  layout('tick_outputs', [], 'tick_output'),
  layout('tick_output', [['block', 'bytes', placedOutputs().bytes, 'output block of the module, OUTPUT_*']]),
  layout('one_value', [
    ['id', 'i32', 1, 'of the parameter; -1: load_defaults, -2: power_up'],
    ['value', 'f32', 1, ''],
  ]),
  layout('trim', [['trim_V', 'f32', 1, 'wanted; in the answer the one in force, never below the least standoff']]),
  layout('trial_outputs', [
    [
      'outputs',
      'u32',
      1,
      'outputs to raise, the others of these rest: 1 `Z_STEP`, 2 `Z_DIRECTION`, 4 `Z_OWNED`, 8 `MOTION_PERMIT`',
    ],
    ['z_goal', 'i32', 1, 'steps of Z since the start of the box to go to, 50 a millisecond, while `Z_OWNED` is raised'],
  ]),
  layout('trial_counts', [
    ['z_done', 'i32', 1, 'steps of Z given so far'],
    ['x_counted', 'i32', 1, 'steps of X counted in the desk state'],
    ['y_counted', 'i32', 1, 'steps of Y counted in the desk state'],
  ]),
  layout('trial_failure', [
    ['failure', 'u32', 1, '1: the control tick hangs, 2: the stack runs over its end, 3: a write to the code'],
  ]),
  layout('one_answer', [['answer', 'u32', 1, 'SET_*']]),
  // The head of an image: the first page of its slot, and of the file that is flashed.
  layout('image_head', [
    ['magic', 'u32', 1, 'IMAGE_MAGIC'],
    ['format', 'u16', 1, 'IMAGE_FORMAT'],
    ['board', 'u16', 1, 'BOARD_KIND'],
    ['length', 'u32', 1, 'bytes of the body, which follows this page'],
    ['body_crc', 'u32', 1, 'CRC-32 of the body'],
    ['generation', 'u32', 1, 'given by the loader; 0 in the file'],
    ['entry', 'u32', 1, 'address that the body is copied to; its vector table stands there'],
    ['export_table', 'u32', 1, 'address of the table of what the desk may call (see firmware/box)'],
    ['spare', 'u32', 1, '0'],
    ['version', 'text', 16, 'version of the firmware'],
    ['module_sha256', 'bytes', 32, 'of the control module'],
    ['image_sha256', 'bytes', 32, 'of the body'],
    ['unused', 'bytes', 136, '255'],
    ['head_crc', 'u32', 1, 'CRC-32 of everything before it'],
  ]),
  layout('update_state', [
    ['slot', 'u8', 1, 'slot that is written'],
    ['spare', 'u8', 1, '0'],
    ['spare2', 'u16', 1, '0'],
    ['received', 'u32', 1, 'bytes of the body received so far: go on here'],
    ['written', 'u32', 1, 'bytes of it in flash'],
    ['generation', 'u32', 1, 'generation of the slot once marked'],
  ]),
  layout('slot_request', [['slot', 'u32', 1, '0 or 1']]),
  layout('slot', [
    ['slot', 'u8', 1, 'which'],
    ['holds', 'u8', 1, 'SLOT_*'],
    ['runs', 'u8', 1, '1: this one runs, or would be started'],
    ['origin', 'u8', 1, 'of the box and the slot that runs: ORIGIN_* of its parameters'],
    ['generation', 'u32', 1, 'of its image; 0: no image'],
    ['version', 'text', 16, 'as the head says'],
    ['module_sha256', 'bytes', 32, 'as the head says'],
    ['image_sha256', 'bytes', 32, 'of the body, as the head says'],
    ['body_sha256', 'bytes', 32, 'of the body, computed from what the flash chip holds'],
  ]),
  layout('update_bytes', [['offset', 'u32', 1, 'place in the body']], 'byte'),
  layout('byte', [['byte', 'u8', 1, '']]),
  // The parameters as kept in flash.
  layout(
    'kept_head',
    [
      ['magic', 'u32', 1, 'KEPT_MAGIC'],
      ['generation', 'u32', 1, 'the higher one counts'],
      ['count', 'u32', 1, 'f32 values that follow, by id'],
      ['crc', 'u32', 1, 'CRC-32 of everything before and behind it'],
      // From here on not with KEPT_MAGIC_1.
      ['image_generation', 'u32', 1, 'of the image that kept them'],
      ['image_sha256', 'bytes', 32, 'of its body'],
    ],
    '',
  ),
];

const SIZES: Readonly<Record<FieldType, number>> = { u8: 1, u16: 2, u32: 4, i16: 2, i32: 4, f32: 4, bytes: 1, text: 1 };

export interface PlacedField extends FieldRow {
  readonly offset: number;
}

/** Fields with their places. A field off its natural place is a defect of the rows. */
export function placed(row: LayoutRow): { readonly fields: readonly PlacedField[]; readonly bytes: number } {
  let offset = 0;
  let widest = 1;
  const fields = row.fields.map((field) => {
    const size = SIZES[field.type];
    const natural = Math.ceil(offset / size) * size;
    const here = { ...field, offset: natural };
    offset = natural + size * field.count;
    widest = Math.max(widest, size);
    return here;
  });
  return { fields, bytes: Math.ceil(offset / widest) * widest };
}

export function layoutRow(name: string): LayoutRow {
  const row = LAYOUTS.find((candidate) => candidate.name === name);
  if (row === undefined) throw new Error(`no layout ${name}`);
  return row;
}

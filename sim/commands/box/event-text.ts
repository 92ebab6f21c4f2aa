import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, STAGE_ROWS } from '../../../firmware/wire/code-rows.js';
import * as wire from '../../../firmware/wire/layout.gen.js';
import { BOOT_ROWS, EVENT_ROWS } from '../../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { wrapText } from '../../views/text/index.js';

/** One record of the box's event ring, as it comes over the link. */
export interface BoxEvent {
  readonly tick: number;
  /** Which start of the box, counted. */
  readonly start: number;
  readonly kind: number;
  readonly detail: number;
  readonly value: number;
}

const INPUT_WORDS: readonly (readonly [number, string])[] = [
  [wire.INPUT_KEY, 'key'],
  [wire.INPUT_REQUEST, 'torch request'],
  [wire.INPUT_STOP_CHAIN, 'stop chain closed'],
  [wire.INPUT_TOUCH, 'touch-off'],
  [wire.INPUT_BREAKAWAY, 'torch seated'],
  [wire.INPUT_TOP, 'Z at the top'],
  [wire.INPUT_HOLD, 'external hold'],
  [wire.INPUT_SUPPLY_CONTACT, 'supply contact'],
  [wire.INPUT_RESET, 'reset'],
  [wire.INPUT_OVERRUN, 'late tick'],
];
const OUTPUT_WORDS: readonly (readonly [number, string])[] = [
  [wire.OUTPUT_TRIGGER, 'torch trigger'],
  [wire.OUTPUT_PERMIT, 'motion permit'],
  [wire.OUTPUT_LATCHED_STOP, 'latched stop open'],
  [wire.OUTPUT_Z_OWNED, 'Z owned'],
];

const bits = (word: number, words: readonly (readonly [number, string])[]): string =>
  words.flatMap(([bit, name]) => ((word & bit) !== 0 ? [name] : [])).join(', ') || 'none';

const hex = (word: number): string => `0x${(word >>> 0).toString(16).padStart(8, '0')}`;
const modeText = (mode: number): string => MODE_ROWS[mode]?.name ?? `mode ${mode}`;
/** What a reset was for, for the person at the box. */
export const bootText = (boot: number): string => BOOT_ROWS[boot]?.meaning ?? `for a reason unknown here (${boot})`;

function modeEvent(detail: number, hold: number): string {
  const mode = detail & 0xff;
  const stage = STAGE_ROWS[(detail >> 8) & 0xff];
  const staged = stage === undefined || stage.code === 0 ? '' : `, ${stage.meaning}`;
  const held = hold === 0 ? '' : `, ${HOLD_ROWS[hold]?.name ?? hold}`;
  return `${modeText(mode)}${held}${staged}`;
}

function faultEvent(code: number, reading_mV: number): string {
  const row = FAULT_ROWS[code];
  const reading = `${(reading_mV / 1000).toFixed(1)} V`;
  return row === undefined ? `fault ${code}, at ${reading}` : `FAULT ${row.name}: ${row.meaning}, at ${reading}`;
}

/** Detail and value of each kind of event, in words. */
const TEXTS: Readonly<Record<string, (detail: number, value: number) => string>> = {
  start: (detail) => `the box started: ${bootText(detail)}`,
  mode: modeEvent,
  fault: faultEvent,
  lines: (detail) => `inputs: ${bits(detail, INPUT_WORDS)}`,
  digital_outputs: (detail) => `outputs: ${bits(detail, OUTPUT_WORDS)}`,
  trap: (detail, value) => `TRAP: the control module reached outside its bounds (kind ${detail}) in tick ${value}`,
  'hard-fault': (_, value) => `HARD FAULT of the processor at ${hex(value)}`,
  stack: () => 'STACK: its end was overwritten',
  overrun: (_, value) => `a tick was late: ${value} processor cycles`,
  converter: (detail) => `CONVERTER: its reference reads ${detail} counts`,
  relay: () => 'RELAY: the firing contact is closed although the trigger is off',
  commit: (_, value) => `parameters were kept, generation ${value}`,
  link: (detail) => (detail === 0 ? 'the link was lost' : 'the link was found'),
  lockstep: (detail) => (detail === 0 ? 'lockstep ended' : 'lockstep began'),
  parameter: (detail) =>
    `a kept parameter was refused and its default taken: ${PARAMETER_ROWS[detail]?.name ?? `number ${detail}`}`,
  hung: (detail, value) => `HUNG: the tick stopped in ${modeText(detail)}; the last was ${value}`,
};

/** One event in words, without its time. */
export function eventText({ kind, detail, value }: BoxEvent): string {
  const name = EVENT_ROWS[kind]?.name ?? '';
  return TEXTS[name]?.(detail, value) ?? `event ${kind}: ${detail}, ${value}`;
}

const TIME_COLUMNS = 12;

/** Events in their order, a heading over each start of the box; @param width of a line, the text is broken into it */
export function eventLines(events: readonly BoxEvent[], width: number): string[] {
  const lines: string[] = [];
  let start = -1;
  for (const event of events) {
    if (event.start !== start) {
      start = event.start;
      lines.push(`start ${start} of the box`);
    }
    const time = `${(event.tick / 1000).toFixed(3)} s`.padStart(TIME_COLUMNS);
    const [first = '', ...rest] = wrapText(eventText(event), Math.max(20, width - TIME_COLUMNS - 2));
    lines.push(`${time}  ${first}`, ...rest.map((line) => ' '.repeat(TIME_COLUMNS + 2) + line));
  }
  return lines;
}

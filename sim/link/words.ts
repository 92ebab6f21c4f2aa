/** What a box says about itself and what happened in it, in words. */
import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import * as wire from '../../firmware/wire/layout.gen.js';
import { BOOT_ROWS, EVENT_ROWS, ORIGIN_ROWS, SLOT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { type Identity, NO_SLOT } from './client.js';
import type { Slot } from './slots.js';

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
  [wire.INPUT_STOP_CHAIN, 'stop chain intact'],
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
  [wire.OUTPUT_LATCHED_STOP, 'latched stop set'],
  [wire.OUTPUT_Z_OWNED, 'Z owned'],
];

const bits = (word: number, words: readonly (readonly [number, string])[]): string =>
  words.flatMap(([bit, name]) => ((word & bit) !== 0 ? [name] : [])).join(', ') || 'none';

const hex = (word: number): string => `0x${(word >>> 0).toString(16).padStart(8, '0')}`;
const modeText = (mode: number): string => MODE_ROWS[mode]?.name ?? `mode ${mode}`;
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

/** Why nobody cuts with a bare cable in the box. */
const USB_AT_AN_ARC =
  'a bare USB cable ties the logic zero of the box to the earth of this computer; it is for the desk only. Beside an arc use the isolated serial adapter, or an isolator for USB';

/** Detail and value of each kind of event, in words; by the name of its row in EVENT_ROWS. */
const TEXTS: Readonly<Record<string, (detail: number, value: number) => string>> = {
  start: (detail) => `the box started: ${BOOT_ROWS[detail]?.meaning ?? `for a reason unknown here (${detail})`}`,
  mode: modeEvent,
  fault: faultEvent,
  digital_inputs: (detail) => `inputs: ${bits(detail, INPUT_WORDS)}`,
  digital_outputs: (detail) => `outputs: ${bits(detail, OUTPUT_WORDS)}`,
  trap: (detail, value) => `TRAP: the control module reached outside its bounds (kind ${detail}) in tick ${value}`,
  'hard-fault': (_, value) => `HARD FAULT of the processor at ${hex(value)}`,
  stack: () => 'STACK: its end was overwritten',
  overrun: (_, value) => `a tick was late: ${value} processor cycles`,
  converter: (detail) => `CONVERTER: its reference reads ${detail} counts`,
  relay: () => 'RELAY: the firing contact is closed although the trigger is off',
  commit: (_, value) => `parameters were kept, generation ${value}`,
  link: (detail, way) => `the link${way === 1 ? ' over USB' : ''} was ${detail === 0 ? 'lost' : 'found'}`,
  lockstep: (detail) => (detail === 0 ? 'lockstep ended' : 'lockstep began'),
  parameter: (detail) =>
    `a kept parameter was refused and its default taken: ${PARAMETER_ROWS[detail]?.name ?? `number ${detail}`}`,
  desk: () => 'the desk state began: outputs at rest until the restart',
  'key-usb': () => `the key is on with USB open: ${USB_AT_AN_ARC}`,
  hung: (detail, value) => `HUNG: the tick stopped in ${modeText(detail)}; the last was ${value}`,
};

/** One event in words, without its time. */
export function eventText({ kind, detail, value }: BoxEvent): string {
  const name = EVENT_ROWS[kind]?.name ?? '';
  return TEXTS[name]?.(detail, value) ?? `event ${kind}: ${detail}, ${value}`;
}

const FIRST_OWN_FAULT = BOOT_ROWS.findIndex(({ name }) => name === 'trap');
const LOADER_REASONS = ['no-image', 'image-fails'];

/** The first digits, enough to compare by eye. */
const shortHash = (sha256: string): string => sha256.slice(0, 12);

/** `3f2a90c1d4e5, the one on the desk`. */
export function moduleWords(sha256: string, desk_sha256: string): string {
  if (/^0*$/.test(sha256)) return 'none';
  const same = sha256 === desk_sha256;
  const other = `NOT the one on the desk, which is ${shortHash(desk_sha256)}`;
  return `${shortHash(sha256)}, ${same ? 'the one on the desk' : other}`;
}

const bootRow = ({ boot }: Identity) => BOOT_ROWS.find(({ name }) => name === boot);

/** Whether the box started because something went wrong in it. */
export const startedByFault = (identity: Identity): boolean => {
  const row = bootRow(identity);
  return row !== undefined && row.code >= FIRST_OWN_FAULT && !LOADER_REASONS.includes(row.name);
};

/** Why it started, in words. */
export const startWords = (identity: Identity): string => bootRow(identity)?.meaning ?? identity.boot;

const RP2040 = 0x0002_927;
/** Chips of this revision and before have the erratum. */
const B1 = 1;

/** `RP2040, revision B2`, by the register SYSINFO CHIP_ID; nothing where the chip was not told. */
export function chipWords({ chip_id }: Identity): string[] {
  if (!chip_id) return [];
  const revision = chip_id >>> 28;
  if ((chip_id & 0xfffffff) !== RP2040) return [`unknown (${hex(chip_id)})`];
  return [`RP2040, revision ${revision <= B1 ? 'B0 or B1' : `B${revision}`}`];
}

/** What a person must know of the chip; empty for most. */
export function chipWarnings({ chip_id }: Identity): string[] {
  if (!chip_id || (chip_id & 0xfffffff) !== RP2040 || chip_id >>> 28 > B1) return [];
  return [
    'The chip is of revision B0 or B1: behind a busy USB hub the computer may never find it (erratum RP2040-E5). The known ' +
      'workaround takes GPIO15, which is the stop chain here, so it is not in the firmware: use a port of the computer ' +
      'itself, or the serial line.',
  ];
}

/** One line for a list of ports: who answers, and with which module. */
export function identityLine(identity: Identity, desk_sha256: string): string {
  const { in_loader, slot, version, module_sha256 } = identity;
  const module = `module ${moduleWords(module_sha256, desk_sha256)}`;
  if (!in_loader) return `box ${version}, ${module}`;
  return slot === NO_SLOT ? `loader ${version}, no valid image` : `loader ${version}; ${module}`;
}

const meaningOf = (rows: readonly { readonly name: string; readonly meaning: string }[], name: string): string =>
  rows.find((row) => row.name === name)?.meaning ?? name;

/** What a slot holds: `runs: version 0.1.0, generation 3, image 3f2a90c1d4e5, module 4cb3aa3ad363: an image, whole`. */
export function slotWords({
  holds,
  runs,
  generation,
  version,
  image_sha256,
  module_sha256,
  body_sha256,
}: Slot): string {
  const meaning = meaningOf(SLOT_ROWS, holds);
  if (generation === 0) return meaning;
  const hashes = `image ${shortHash(image_sha256)}, module ${shortHash(module_sha256)}`;
  const computed = body_sha256 === image_sha256 ? '' : ` (it has ${shortHash(body_sha256)})`;
  return `${runs ? 'runs: ' : ''}version ${version}, generation ${generation}, ${hashes}: ${meaning}${computed}`;
}

/** What the box ran with since it went back to an older image that has kept no parameters: a warning; else undefined. */
export function withheldWords(running: Slot | undefined): string | undefined {
  if (running?.origin !== 'withheld') return undefined;
  return `The box runs with ${meaningOf(ORIGIN_ROWS, 'withheld')}. Set them: standoff box load or standoff box set`;
}

/** Where the parameters in use come from. @param origin name of the row in ORIGIN_ROWS */
export const originWords = (origin: string): string => meaningOf(ORIGIN_ROWS, origin);

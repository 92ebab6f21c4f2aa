/**
 * A tick of the control module, row by row: what goes in, what comes out, and where else each of them is shown. The blocks
 * in the module's memory (`layout.gen.ts`), the C that packs telemetry and history, the link's layouts, the recorder and
 * the columns of a recorded run are generated from these rows or read them.
 */

/** How a value is recorded and sent. In the module's blocks a number has four bytes: i32 or f32. */
export type CellType = 'u8' | 'u16' | 'i16' | 'i32' | 'f32';

interface TickRow {
  /** Its column in a recorded run, its field in telemetry, and, in capitals, its constant INPUT_… or OUTPUT_…. */
  readonly name: string;
  /** The end of that constant's name where it is another. */
  readonly constant?: string;
  readonly type: CellType;
  /** As printed; '1' for a pure number, 'bits' and 'code' for those. */
  readonly unit: string;
  readonly meaning: string;
  /** Whether it is a column of a recorded run, and whether a box sends it. */
  readonly trace: boolean;
  readonly telemetry: boolean;
}

export interface InputRow extends TickRow {
  /** Its place in the input block, bytes; a new row takes the next one that is free. */
  readonly byte: number;
  /** Half-words there, of which the last is recorded; without it one word of four bytes. */
  readonly half_words?: number;
}

export interface OutputRow extends TickRow {
  /** Its word in the output block. A word is never used again for something else; a new row takes the next free one. */
  readonly word: number;
  /** What the board put on its pins is recorded and sent, not what the module asked for. */
  readonly at_pins?: true;
}

type Shown = Pick<TickRow, 'trace' | 'telemetry'>;
const SHOWN: Shown = { trace: true, telemetry: true };
/** Where a row of telemetry has no room for it: 92 bytes a millisecond are the line at 921 600 bit/s. */
const TRACE_ONLY: Shown = { trace: true, telemetry: false };
const BLOCK_ONLY: Shown = { trace: false, telemetry: false };

/** Readings handed over each tick: raw converter counts at 10 kHz, oldest first. */
export const READINGS_PER_TICK = 10;
/** What the board's own reference reads: half of the converter's range. */
export const REFERENCE_COUNTS = 2048;
/** A touch-off switch that has stayed open for so many ticks has opened; longer than it chatters. The sheet is where it opened. */
export const TOUCH_OPEN_TICKS = 20;
/** A stroke of the proof of the arc leads at most so far above pierce height, µm. */
export const STROKE_UM = 1500;
/** Most strokes that a proof adds up before it gives up. */
export const STROKES_MOST = 6;
/** For so long after strike_ms a proof may still begin again: a pilot that goes on beside the arc, ms. */
export const PROOF_BEGINS_MS = 300;

const input = (
  byte: number,
  name: string,
  type: CellType,
  unit: string,
  meaning: string,
  shown: Shown,
  more: Pick<InputRow, 'constant' | 'half_words'> = {},
): InputRow => ({ byte, name, type, unit, meaning, ...shown, ...more });

const READINGS = { constant: 'READINGS', half_words: READINGS_PER_TICK };

/** What goes into a tick, in the order of a recorded run. */
export const INPUT_ROWS: readonly InputRow[] = [
  input(20, 'digital_inputs', 'u16', 'bits', 'INPUT_*', SHOWN, { constant: 'DIGITAL' }),
  input(
    0,
    'reading',
    'u16',
    'counts',
    'the tick’s ten converter readings, oldest first; the last is recorded',
    SHOWN,
    READINGS,
  ),
  input(24, 'x_steps', 'i16', 'steps', 'X steps since the last tick', SHOWN),
  input(28, 'y_steps', 'i16', 'steps', 'Y steps since the last tick', SHOWN),
  input(32, 'reference', 'u16', 'counts', 'the board’s own reference, raw', BLOCK_ONLY, { half_words: 1 }),
  input(36, 'capacity', 'i32', 'steps', 'Z steps that the board can put out in a tick; 0: not told', BLOCK_ONLY),
];

const output = (
  word: number,
  name: string,
  type: CellType,
  unit: string,
  meaning: string,
  shown: Shown,
  more: Pick<OutputRow, 'constant' | 'at_pins'> = {},
): OutputRow => ({ word, name, type, unit, meaning, ...shown, ...more });

/** What comes out of a tick, in the order of a recorded run. `publish` of the module computes each. */
export const OUTPUT_ROWS: readonly OutputRow[] = [
  output(0, 'z_steps', 'i16', 'steps', 'Z steps for the next tick, up is positive', SHOWN, { at_pins: true }),
  output(1, 'digital_outputs', 'u8', 'bits', 'OUTPUT_*', SHOWN, { constant: 'DIGITAL', at_pins: true }),
  output(2, 'mode', 'u8', 'code', 'MODE_*', SHOWN),
  output(3, 'stage', 'u8', 'code', 'STAGE_*', SHOWN),
  output(4, 'hold', 'u8', 'code', 'HOLD_*', SHOWN),
  output(5, 'fault', 'u8', 'code', 'FAULT_*', SHOWN),
  output(6, 'refusal', 'u8', 'code', 'REFUSAL_*', SHOWN),
  output(17, 'flags', 'u8', 'bits', 'FLAG_*', SHOWN),
  output(7, 'z', 'i32', 'steps', 'Z since the box took it over', SHOWN),
  output(8, 'fault_reading_V', 'f32', 'V', 'the reading that caused the fault', BLOCK_ONLY),
  output(9, 'measured_V', 'f32', 'V', 'arc voltage as the box sees it, mean over half a mains period', SHOWN),
  output(10, 'target_V', 'f32', 'V', 'target with trim and feed effect', SHOWN),
  output(11, 'measured_error_mm', 'f32', 'mm', 'standoff error as the regulator sees it, high is positive', SHOWN),
  output(12, 'z_velocity_mm_s', 'f32', 'mm/s', 'commanded Z velocity', SHOWN),
  output(13, 'measured_feed_mm_s', 'f32', 'mm/s', 'feed as the box sees it, filtered', SHOWN),
  output(14, 'slope_x', 'f32', '1', 'estimated slope of the sheet along X', SHOWN),
  output(15, 'slope_y', 'f32', '1', 'estimated slope of the sheet along Y', SHOWN),
  output(16, 'feed_effect_V', 'f32', 'V', 'feed effect as learned', SHOWN),
  output(
    19,
    'found_target_V',
    'f32',
    'V',
    'arc voltage at cut height and target feed, as found; as told without',
    TRACE_ONLY,
  ),
  output(
    20,
    'found_deviation_mm',
    'f32',
    'mm',
    'standard deviation of the target in standoff; 0 while it is told',
    TRACE_ONLY,
  ),
  output(18, 'tick_V', 'f32', 'V', 'mean of the ten readings of this tick', BLOCK_ONLY),
  output(
    21,
    'proof_slope_V_per_mm',
    'f32',
    'V/mm',
    'what the voltage answered to the strokes of the last strike; 0: not yet known',
    TRACE_ONLY,
  ),
];

/** What the board adds to a row of telemetry. */
export const BOARD_FIELDS = [
  { name: 'relay', type: 'u8', meaning: 'readback of the firing contact' },
  { name: 'cycles', type: 'u16', meaning: 'length of the tick in units of 4 processor cycles' },
] as const;

/** Inputs and outputs that the box keeps of its last seconds, in the order of a record. */
export const HISTORY_NAMES = [
  ...['digital_inputs', 'reading', 'mode', 'hold', 'fault', 'digital_outputs'],
  ...['z', 'measured_V', 'measured_error_mm'],
] as const;

export interface BitRow {
  readonly bit: number;
  /** The end of the constant's name. */
  readonly name: string;
  readonly meaning: string;
}
const bits = (rows: readonly (readonly [string, string])[]): readonly BitRow[] =>
  rows.map(([name, meaning], place) => ({ bit: 2 ** place, name, meaning }));

/** Digital inputs. 1 means the word is true. */
export const INPUT_BIT_ROWS = bits([
  ['KEY', 'arm key on'],
  ['REQUEST', 'torch request'],
  ['STOP_CHAIN', 'stop chain intact'],
  ['TOUCH', 'touch-off switch closed'],
  ['BREAKAWAY', 'torch seated in its holder'],
  ['TOP', 'Z at the top switch'],
  ['HOLD', 'external hold'],
  ['SUPPLY_CONTACT', 'the supply says that the arc has transferred'],
  ['RESET', 'reset button'],
  ['OVERRUN', 'the board: the last tick was late'],
  ['RELAY', 'readback: the firing contact is closed'],
  ['REST', 'the board: outputs are to rest'],
]);

/** Digital outputs. */
export const OUTPUT_BIT_ROWS = bits([
  ['TRIGGER', 'torch trigger'],
  ['PERMIT', 'motion permit'],
  ['LATCHED_STOP', '1: the latched stop is set'],
  ['Z_OWNED', 'the box owns Z'],
]);

export const FLAG_ROWS = bits([
  ['ARC_OK', 'the arc counts as burning'],
  ['HOMED', 'Z has been at the top switch since power-up'],
  ['VELOCITY_LIMITED', 'Z would go faster'],
  ['ACCELERATION_LIMITED', 'Z would change its speed faster'],
  ['TARGET_KEPT', 'what was found is outside its bounds: the bound is used'],
  ['SPIKE', 'a reading was rejected in this tick'],
  ['NEAR_ZERO', 'the arc voltage is near zero'],
  ['CONVERTER_DEAD', 'the reference is off: the readings count as the top of the range'],
]);

/** Answers of set_parameter, from 0. */
export const SET_ROWS = (
  [
    ['DONE', 'taken'],
    ['UNKNOWN', 'no such id'],
    ['RANGE', 'outside its range, or NaN'],
    ['NOT_NOW', 'only with the key off, at rest, voltage near zero'],
  ] as const
).map(([name, meaning], answer) => ({ answer, name, meaning }));

/** Input blocks and output blocks are whole multiples of this, so that most new rows leave their length as it is. */
const BLOCK_STEP_BYTES = 16;

export interface PlacedRow {
  /** INPUT_… or OUTPUT_…. */
  readonly constant: string;
  /** From the begin of its block, and how long, bytes. */
  readonly offset: number;
  readonly bytes: number;
}

function placed<Row extends TickRow & PlacedRow>(rows: readonly Row[]) {
  const ordered = [...rows].sort((a, b) => a.offset - b.offset);
  ordered.forEach(({ name, offset }, at) => {
    const before = ordered[at - 1];
    if (before && before.offset + before.bytes > offset) throw new Error(`${before.name} and ${name} share bytes`);
  });
  const { offset, bytes } = ordered.at(-1)!;
  return { rows, bytes: Math.ceil((offset + bytes) / BLOCK_STEP_BYTES) * BLOCK_STEP_BYTES };
}
const constantOf = ({ constant, name }: TickRow) => constant ?? name.toUpperCase();

/** The rows with their places in the block, and the block's length. @throws Error for two rows in one place */
export const placedInputs = () =>
  placed(
    INPUT_ROWS.map((row) => ({
      ...row,
      constant: `INPUT_${constantOf(row)}`,
      offset: row.byte,
      bytes: 2 * (row.half_words ?? 2),
    })),
  );
export const placedOutputs = () =>
  placed(OUTPUT_ROWS.map((row) => ({ ...row, constant: `OUTPUT_${constantOf(row)}`, offset: 4 * row.word, bytes: 4 })));

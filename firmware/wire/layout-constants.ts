import {
  FLAG_ROWS,
  INPUT_BIT_ROWS,
  OUTPUT_BIT_ROWS,
  PROOF_BEGINS_MS,
  placedInputs,
  placedOutputs,
  READINGS_PER_TICK,
  REFERENCE_COUNTS,
  SET_ROWS,
  STROKE_UM,
  STROKES_MOST,
  TOUCH_OPEN_TICKS,
} from './tick-rows.js';

/** A number that module, C and host share. */
export interface Constant {
  readonly name: string;
  readonly value: number;
  readonly meaning: string;
}

const bits = (prefix: string, rows: typeof INPUT_BIT_ROWS): Constant[] =>
  rows.map(({ name, bit, meaning }) => ({ name: `${prefix}_${name}`, value: bit, meaning }));
const places = ({ rows }: ReturnType<typeof placedInputs> | ReturnType<typeof placedOutputs>): Constant[] =>
  rows.map(({ constant, offset, meaning }) => ({ name: constant, value: offset, meaning }));

/** Everything about the module's blocks that is a number. */
export const layoutConstants = (): readonly Constant[] => [
  { name: 'READINGS_PER_TICK', value: READINGS_PER_TICK, meaning: 'raw converter counts, oldest first, u16' },
  { name: 'REFERENCE_COUNTS', value: REFERENCE_COUNTS, meaning: 'half of the converter’s range' },
  { name: 'TOUCH_OPEN_TICKS', value: TOUCH_OPEN_TICKS, meaning: 'after which a touch-off switch has opened' },
  { name: 'STROKE_UM', value: STROKE_UM, meaning: 'of the proof, at most, above pierce height' },
  { name: 'STROKES_MOST', value: STROKES_MOST, meaning: 'that a proof adds up' },
  { name: 'PROOF_BEGINS_MS', value: PROOF_BEGINS_MS, meaning: 'after strike_ms: until then a proof may begin again' },
  ...places(placedInputs()),
  { name: 'INPUT_BYTES', value: placedInputs().bytes, meaning: '' },
  ...bits('INPUT', INPUT_BIT_ROWS),
  ...places(placedOutputs()),
  { name: 'OUTPUT_BYTES', value: placedOutputs().bytes, meaning: '' },
  ...bits('OUTPUT', OUTPUT_BIT_ROWS),
  ...bits('FLAG', FLAG_ROWS),
  ...SET_ROWS.map(({ name, answer, meaning }) => ({ name: `SET_${name}`, value: answer, meaning })),
];

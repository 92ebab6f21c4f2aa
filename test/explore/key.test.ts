import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import {
  FILTER_AT,
  REGULATOR_AT,
  REGULATOR_FIELDS,
  RING_AT,
  SEQUENCE_AT,
  SEQUENCE_FIELDS,
} from '../../firmware/wire/state-fields.gen.js';
import { bitsOf, fieldOf, fits, KEY_FIELDS, keyOf, restore } from '../../sim/explore/key.js';
import { CUT_STEPS, PIERCE_STEPS, REST_V, STEPS_PER_MM, sequenceWord } from '../../sim/explore/world.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { readStateMap } from '../control/state-map.js';

const WORDS = REGULATOR_AT / 4;
const source = readFileSync(new URL('../../firmware/control/state.ts', import.meta.url), 'utf8');

describe('the fields of the state', () => {
  const map = readStateMap(source);

  it('stand where the module’s own source puts them, with the names and kinds that it gives them', () => {
    const expected = [
      ...SEQUENCE_FIELDS.map((name, at) => [name, { offset: SEQUENCE_AT + 4 * at, real: false }] as const),
      ...REGULATOR_FIELDS.map((name, at) => [name, { offset: REGULATOR_AT + 4 * at, real: true }] as const),
    ];
    const found = [...map].filter(([, { offset }]) => offset < FILTER_AT);
    expect(found).toEqual(expected);
  });

  it('are followed by the filter and, where the ring begins, by its readings', () => {
    const filter = [...map.values()].filter(({ offset }) => offset >= FILTER_AT);
    expect(Math.max(...filter.map(({ offset }) => offset))).toBeLessThan(RING_AT);
    const controller = new WasmController(loadControlModule());
    controller.powerUp();
    const before = controller.state().slice();
    controller.readings.fill(777);
    controller.tick();
    const after = controller.state();
    const readings = new Uint16Array(after.buffer, after.byteOffset + RING_AT, 10);
    // The spike rejection may set the first readings aside; what stands there otherwise is the reading itself.
    controller.powerUp();
    controller.readings.fill(140);
    controller.tick();
    expect([...readings]).toEqual(new Array(10).fill(140));
    expect(before.length).toBe(after.length);
  });
});

describe('a key', () => {
  /** Any value that a field can take in its bits. */
  const values = fc.tuple(...KEY_FIELDS.map(({ bits, flag }) => fc.integer({ min: 0, max: flag ? 1 : 2 ** bits - 1 })));

  it('keeps every remembered field through a round trip, and nothing else', () => {
    fc.assert(
      fc.property(values, (list) => {
        const words = new Int32Array(WORDS);
        KEY_FIELDS.forEach(({ name }, at) => {
          words[sequenceWord(name)] = list[at];
        });
        expect(fits(words)).toBe(true);
        const key = keyOf(words);
        KEY_FIELDS.forEach(({ name }, at) => {
          expect(fieldOf(key, name), name).toBe(list[at]);
        });
        const again = new Int32Array(WORDS).fill(-1);
        restore(key, again, WORDS);
        expect(again).toEqual(words);
      }),
    );
  });

  it('tells of a time only whether there is one', () => {
    const words = new Int32Array(WORDS);
    words[sequenceWord('key_off_ms')] = 17;
    words[sequenceWord('request_off_ms')] = 30;
    expect([fieldOf(keyOf(words), 'key_off_ms'), fieldOf(keyOf(words), 'request_off_ms')]).toEqual([1, 1]);
  });

  it.each(KEY_FIELDS.filter(({ flag }) => !flag))('does not fit when $name outgrows its bits', ({ name, bits }) => {
    const words = new Int32Array(WORDS);
    words[sequenceWord(name)] = 2 ** bits;
    expect(fits(words)).toBe(false);
    words[sequenceWord(name)] = -1;
    expect(fits(words)).toBe(false);
  });

  it('has the bits of a field where the field is', () => {
    fc.assert(
      fc.property(values, fc.constantFrom(...KEY_FIELDS), (list, { name }) => {
        const words = new Int32Array(WORDS);
        KEY_FIELDS.forEach((field, at) => {
          words[sequenceWord(field.name)] = field.name === name ? 0 : list[at];
        });
        expect(keyOf(words) & bitsOf(name)).toBe(0);
      }),
    );
  });
});

describe('the heights and the voltage that invariants ask about', () => {
  const byDefault = (name: string) => PARAMETER_ROWS.find((row) => row.name === name)!.default;

  it('are the defaults of the box', () => {
    expect(STEPS_PER_MM).toBe(byDefault('z_steps_per_mm'));
    expect(PIERCE_STEPS).toBe(byDefault('pierce_height_mm') * STEPS_PER_MM);
    expect(CUT_STEPS).toBe(byDefault('cut_height_mm') * STEPS_PER_MM);
    expect(REST_V).toBe(byDefault('rest_V'));
  });
});

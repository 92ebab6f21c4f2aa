import { describe, expect, it } from 'vitest';
import { assignValues, defaultSetup, setupWarnings } from '../../../sim/run/setup/index.js';
import { nearestWord } from '../../../sim/run/setup/suggestions.js';
import { refused } from './refused.js';

type Case = readonly [assignment: string, code: string, ...words: string[]];

const REFUSED: readonly Case[] = [
  ['pierce_ms', 'set-form', 'name=value'],
  ['=400', 'set-form', 'name=value'],
  ['pierse_ms=400', 'set-unknown', 'pierse_ms', 'pierce_ms?'],
  ['pierce=400', 'set-unknown', 'pierce_ms'],
  ['axis.travel_mm=50', 'set-unknown', 'machine.axis.travel_mm?'],
  ['wave_mm=1', 'set-unknown', 'world.sheet.wave_mm?'],
  ['constructor=1', 'set-unknown', 'constructor', 'standoff schema'],
  ['pierce_ms=9000', 'set-range', '9000', '0…5000 ms'],
  ['pierce_ms=nan', 'set-type', 'nan', '0…5000 ms'],
  ['pierce_ms=', 'set-type', '0…5000 ms'],
  ['pierce_ms=1e999', 'set-range', '0…5000 ms'],
  ['pierce_ms=4 V', 'set-unit', 'V', 'ms'],
  ['cut_height_mm=1,5', 'set-type', 'point'],
  ['machine.supply.phases=2', 'set-range', '1 or 3'],
  ['machine.supply.restrikes=1', 'set-type', 'true or false'],
  ['machine.head.bounce_ms=1.5', 'set-range', 'whole'],
  ['hold_carried=0.5', 'set-range', '0…1, whole'],
  ['cut_height_mm=5', 'setup-contradiction', '5 mm', 'box.pierce_height_mm'],
];

describe('assignValues', () => {
  it.each(REFUSED)('refuses %s and says what to do', (assignment, code, ...words) => {
    const error = refused(() => assignValues(defaultSetup(), [assignment]));
    expect(error.code).toBe(code);
    for (const word of words) expect(error.message).toContain(word);
  });

  it('changes parameters by name, the rest by path, and nothing else', () => {
    const before = defaultSetup();
    const after = assignValues(before, [
      'pierce_ms=400 ms',
      'box.cut_height_mm=2',
      'machine.supply.restrikes=true',
      'world.noise.white_V_rms_per_tick=0',
    ]);
    expect(before).toEqual(defaultSetup());
    const expected = defaultSetup() as unknown as Record<string, Record<string, Record<string, unknown> & unknown>>;
    Object.assign(expected.box, { pierce_ms: 400, cut_height_mm: 2 });
    Object.assign(expected.machine.supply, { restrikes: true });
    Object.assign(expected.world.noise, { white_V_rms_per_tick: 0 });
    expect(after).toEqual(expected);
  });

  it('looks at contradictions after the last assignment, so that two may be changed together', () => {
    const { box } = assignValues(defaultSetup(), ['cut_height_mm=5', 'pierce_height_mm=6']);
    expect([box.cut_height_mm, box.pierce_height_mm]).toEqual([5, 6]);
  });
});

describe('the pilot voltage', () => {
  it('may be any: by its level nothing is decided', () => {
    const { machine, box } = assignValues(defaultSetup(), ['machine.supply.pilot_V=120', 'transfer_V=160']);
    expect([machine.supply.pilot_V, box.transfer_V]).toEqual([120, 160]);
  });
});

describe('setupWarnings', () => {
  it('says nothing about the defaults', () => {
    expect(setupWarnings(defaultSetup())).toEqual([]);
  });

  it.each([
    ['z_steps_per_mm=200', 'z_steps_per_mm'],
    ['machine.axis.steps_per_mm=200', 'z_steps_per_mm'],
    ['x_steps_per_mm=200', 'x_steps_per_mm'],
    ['y_steps_per_mm=200', 'y_steps_per_mm'],
    ['mains_Hz=60', 'mains_Hz'],
    ['machine.divider.ratio=50', 'reading_gain_mV'],
    ['machine.converter.zero_counts=0', 'reading_zero_counts'],
    ['z_velocity_mm_s=90', 'lose steps'],
    ['z_acceleration_mm_s2=9000', 'lose steps'],
    ['pierce_height_mm=8', 'transfer'],
  ])('names what differs after %s', (assignment, word) => {
    const texts = setupWarnings(assignValues(defaultSetup(), [assignment]));
    expect(texts).toHaveLength(1);
    expect(texts[0]).toContain(word);
  });

  it('takes a gain within 0.5 % of the divider for calibrated: the tolerance of its resistors', () => {
    expect(setupWarnings(assignValues(defaultSetup(), ['reading_gain_mV=97.1']))).toEqual([]);
    expect(setupWarnings(assignValues(defaultSetup(), ['reading_gain_mV=97.3']))).toHaveLength(1);
  });
});

describe('nearestWord', () => {
  it.each([
    ['pirece_ms', 'pierce_ms'],
    ['PIERCE_MS', 'pierce_ms'],
    ['pierce_m', 'pierce_ms'],
    ['xyz', undefined],
    ['p'.repeat(10_000), undefined],
  ])('takes %s for %s', (word, expected) => {
    expect(nearestWord(word, ['pierce_ms', 'settle_ms', 'target_V'])).toBe(expected);
  });
});

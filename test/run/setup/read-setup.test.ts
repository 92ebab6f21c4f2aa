import { describe, expect, it } from 'vitest';
import { defaultSetup, readSetup } from '../../../sim/run/setup/index.js';
import { refused } from './refused.js';

/** code, file text, what the sentence must name: place, value, range and unit, remedy. */
type Case = readonly [name: string, text: string, code: string, ...words: string[]];

const REFUSED: readonly Case[] = [
  ['an empty file', '', 'setup-empty', 'gate.yaml', '--setup'],
  ['a file of comments', '# box:\n', 'setup-empty', 'gate.yaml'],
  ['a binary file', 'box:\n  \u0000\u0001', 'setup-binary', 'gate.yaml:2:3', 'UTF-8'],
  ['bytes that are no UTF-8', 'box: \ufffd', 'setup-binary', 'gate.yaml:1:6'],
  ['a tab as indent', 'box:\n\tpierce_ms: 1', 'setup-tab', 'gate.yaml:2:1', 'spaces'],
  ['an open bracket', 'box: {pierce_ms: 1', 'setup-yaml', 'gate.yaml:'],
  ['brackets without end', '['.repeat(20_000), 'setup-yaml', 'gate.yaml:1', 'deep'],
  ['two documents', 'box:\n---\nbox:\n', 'setup-yaml', 'gate.yaml:2:1'],
  ['an alias', 'box:\n  pierce_ms: *a', 'setup-alias', 'gate.yaml:2:14'],
  ['a tag', 'box: !!mine 3', 'setup-yaml', 'gate.yaml:1:6'],
  ['a key twice', 'box:\n  pierce_ms: 1\n  pierce_ms: 2', 'setup-key-twice', 'gate.yaml:3:3', 'pierce_ms'],
  ['a list at the top', '- 1', 'setup-type', 'gate.yaml:1:1', 'box:'],
  ['a list as key', 'box:\n  ? [a]\n  : 1', 'setup-key', 'gate.yaml'],
  ['a number for a section', 'box: 3', 'setup-type', 'gate.yaml:1:6', 'box is 3'],
  ['a missing number', 'box:\n  pierce_ms:', 'setup-type', 'gate.yaml:2:13', '0…5000 ms'],
  ['a list for a number', 'box:\n  pierce_ms: [1]', 'setup-type', 'gate.yaml:2:14', '[1]', '0…5000 ms'],
  ['a word for a number', 'box:\n  pierce_ms: long', 'setup-type', 'gate.yaml:2:14', 'long', '0…5000 ms'],
  ['infinity', 'box:\n  pierce_ms: .inf', 'setup-type', 'gate.yaml:2:14', '.inf', '0…5000 ms'],
  ['no number', 'box:\n  pierce_ms: .nan', 'setup-type', 'gate.yaml:2:14', '.nan'],
  ['a decimal comma', 'box:\n  cut_height_mm: 1,5', 'setup-type', 'gate.yaml:2:18', '1,5', 'point'],
  ['too large', 'box:\n  pierce_ms: 9000', 'setup-range', 'gate.yaml:2:14', '9000', '0…5000 ms'],
  ['too small', 'box:\n  pierce_ms: -1', 'setup-range', 'gate.yaml:2:14', '-1', '0…5000 ms'],
  ['too large in its unit', 'box:\n  pierce_ms: 9000 ms', 'setup-range', 'gate.yaml:2:14', '9000 ms'],
  ['a fraction of a whole', 'machine:\n  head:\n    bounce_ms: 1.5', 'setup-range', ':3:16', '1.5', '0…200 ms, whole'],
  ['half a switch', 'box:\n  hold_carried: 0.5', 'setup-range', ':2:17', '0.5', '0…1, whole'],
  ['none of the choices', 'machine:\n  supply:\n    phases: 2', 'setup-range', ':3:13', '1 or 3'],
  ['a number for a flag', 'machine:\n  supply:\n    restrikes: 1', 'setup-type', ':3:16', 'true or false'],
  ['another unit', 'box:\n  arc_slope_V_per_mm: 4 V/cm', 'setup-unit', ':2:23', '4 V/cm', 'V/mm'],
  ['a thousandth of the unit', 'box:\n  pierce_height_mm: 3500 um', 'setup-unit', ':2:21', 'um', 'mm'],
  ['a unit on a pure number', 'box:\n  gain_d: 1 s', 'setup-unit', ':2:11', 'pure number'],
  ['a mistyped key', 'box:\n  pirece_ms: 1', 'setup-key-unknown', ':2:3', 'pirece_ms', 'pierce_ms?'],
  ['a key without its unit', 'box:\n  pierce: 1', 'setup-key-unknown', ':2:3', 'pierce_height_mm or pierce_ms?'],
  ['an unknown key', 'box:\n  zoo: 1', 'setup-key-unknown', ':2:3', 'zoo', 'standoff schema'],
  ['a mistyped section', 'wrold:\n', 'setup-key-unknown', ':1:1', 'world?'],
  ['a world key in box', 'box:\n  wave_mm: 1', 'setup-key-unknown', ':2:3', 'section world, under sheet'],
  ['a world group in machine', 'machine:\n  noise: {}', 'setup-key-unknown', ':2:3', 'section world'],
  ['a box key in world', 'world:\n  pierce_ms: 1', 'setup-key-unknown', ':2:3', 'section box'],
  ['a group at the top', 'axis: {}', 'setup-key-unknown', ':1:1', 'section machine'],
  ['a key of the language', '__proto__: {}', 'setup-key-unknown', ':1:1', '__proto__'],
  ['a map for the faults', 'world:\n  faults: {}', 'setup-type', ':2:11', 'list'],
  ['a mistyped fault', 'world:\n  faults:\n  - {kind: open-laed, at_s: 1}', 'setup-word', ':3:12', 'open-lead?'],
  ['a fault with no time', 'world:\n  faults:\n  - kind: open-lead', 'setup-key-missing', ':3:5', 'at_s', '86400 s'],
  ['a fault in minutes', 'world:\n  faults:\n  - {kind: open-lead, at_s: 1 min}', 'setup-unit', ':3:29', 'min', 's'],
  ['a fault too strong', 'world:\n  faults:\n  - {kind: lost-steps, at_s: 1, value: 2}', 'setup-range', ':3:40', '0…1'],
  [
    'a value no fault takes',
    'world:\n  faults:\n  - {kind: open-lead, at_s: 1, value: 2}',
    'setup-key-unknown',
    ':3:32',
  ],
  [
    'a cut above the pierce',
    'box:\n  cut_height_mm: 6',
    'setup-contradiction',
    ':2:18',
    '6 mm',
    'box.pierce_height_mm',
  ],
  ['an arc window upside down', 'box:\n  arc_low_V: 200\n  arc_high_V: 60', 'setup-contradiction', 'gate.yaml:'],
  ['a target under the window', 'box:\n  target_V: 50', 'setup-contradiction', ':2:13', '(60 V)', '(50 V)'],
];

describe('readSetup', () => {
  it.each(REFUSED)('refuses %s with its place and what to do', (_name, text, code, ...words) => {
    const error = refused(() => readSetup(text, 'gate.yaml'));
    expect(error.code).toBe(code);
    for (const word of words) expect(error.message).toContain(word);
    expect(error.remedy).not.toBe('');
    expect(error.message).not.toContain('\n');
  });

  it('tells the first mistake in the order of the file', () => {
    const text = 'world:\n  sheet:\n    tilt_x: 7\nbox:\n  zoo: 1\n  pierce_ms: 9000\n';
    expect(refused(() => readSetup(text, 'gate.yaml')).message).toContain('gate.yaml:3:13');
  });

  it('puts a contradiction at the later of the two values', () => {
    const text = 'box:\n  pierce_height_mm: 2\n  cut_height_mm: 3\n';
    expect(refused(() => readSetup(text, 'gate.yaml')).message).toContain('gate.yaml:3:18');
    const swapped = 'box:\n  cut_height_mm: 3\n  pierce_height_mm: 2\n';
    expect(refused(() => readSetup(swapped, 'gate.yaml')).message).toContain('gate.yaml:3:21');
  });

  it.each([
    ['plain', '4.5'],
    ['with its unit', '4.5 V/mm'],
    ['with its unit in quotes', '"4.5 V/mm"'],
    ['without a blank', '4.5V/mm'],
    ['in quotes', "' 4.5 '"],
    ['with an exponent', '45e-1 V/mm'],
  ])('reads a number written %s', (_name, text) => {
    expect(readSetup(`box:\n  arc_slope_V_per_mm: ${text}\n`, 'gate.yaml').box.arc_slope_V_per_mm).toBe(4.5);
  });

  it.each(['mm/s²', 'mm/s2', 'mm/s^2'])('reads the unit of an acceleration as %s', (unit) => {
    const setup = readSetup(`box:\n  z_acceleration_mm_s2: 900 ${unit}\n`, 'gate.yaml');
    expect(setup.box.z_acceleration_mm_s2).toBe(900);
  });

  it('keeps the default of what is left out, also in an empty section or group', () => {
    const text = 'box:\nmachine:\n  axis:\nworld:\n  faults:\n  arc: {}\n';
    expect(readSetup(text, 'gate.yaml')).toEqual(defaultSetup());
  });

  it('reads values of each section and the list of faults', () => {
    const text =
      'box: {pierce_ms: 400}\nmachine:\n  supply: {phases: 3, restrikes: true}\n' +
      'world:\n  faults:\n  - kind: stuck-code\n    at_s: 3 s\n    for_s: 1.5\n    value: 700 counts\n';
    const expected = structuredClone(defaultSetup()) as unknown as Record<string, Record<string, unknown>>;
    expected.box.pierce_ms = 400;
    Object.assign(expected.machine.supply as object, { phases: 3, restrikes: true });
    expected.world.faults = [{ kind: 'stuck-code', at_s: 3, for_s: 1.5, value: 700 }];
    expect(readSetup(text, 'gate.yaml')).toEqual(expected);
  });

  it('gives each reader a setup of its own', () => {
    const one = readSetup('box:\n', 'gate.yaml');
    const before = structuredClone(one);
    for (const section of [one.box, one.machine.axis, one.world.arc]) Object.assign(section, { travel_mm: 1 });
    (one.world.faults as unknown[]).push('mine');
    expect(readSetup('box:\n', 'gate.yaml')).toEqual(before);
  });
});

import { describe, expect, it } from 'vitest';
import { defaultSetup, readScenario, SCENARIO_FORMAT } from '../../../sim/run/setup/index.js';
import { refused } from './refused.js';

const HEAD = 'format: standoff scenario 2\nseed: 7\n';
const PROGRAM = 'program: {name: gate.nc, text: "M2"}\n';
const GOOD = HEAD + PROGRAM;

type Case = readonly [name: string, text: string, code: string, ...words: string[]];

const REFUSED: readonly Case[] = [
  ['an empty file', '', 'scenario-empty', 'run.yaml'],
  ['a setup file', 'box:\n  pierce_ms: 1\n', 'scenario-format', 'run.yaml:1:1', SCENARIO_FORMAT],
  ['a newer version', GOOD.replace('scenario 2', 'scenario 3'), 'scenario-version', ':1:9', 'version 3', 'newer'],
  ['an older version', GOOD.replace('scenario 2', 'scenario 1'), 'scenario-version', ':1:9', 'version 1', 'again'],
  ['another format', GOOD.replace('standoff', 'stand'), 'scenario-format', ':1:9', SCENARIO_FORMAT],
  ['no seed', `format: standoff scenario 2\n${PROGRAM}`, 'scenario-key-missing', 'seed'],
  ['a fraction as seed', GOOD.replace('7', '1.5'), 'scenario-type', ':2:7', '1.5', '4294967295'],
  ['a seed too large', GOOD.replace('7', '4294967296'), 'scenario-type', ':2:7', '4294967295'],
  ['no program', HEAD, 'scenario-key-missing', 'program'],
  ['a program without text', `${HEAD}program: {name: a}`, 'scenario-key-missing', 'program.text'],
  ['an unknown key', `${GOOD}sed: 1\n`, 'scenario-key-unknown', ':4:1', 'sed', 'seed?'],
  ['an unknown word', `${GOOD}operator:\n- {at_s: 1, line: kye, on: true}\n`, 'scenario-word', ':5:19', 'key?'],
  ['a moment in ms', `${GOOD}operator:\n- {at_s: 1 ms, line: key, on: true}\n`, 'scenario-unit', ':5:10', 'ms', 's'],
  ['a moment before the run', `${GOOD}operator:\n- {at_s: -1, line: key, on: true}\n`, 'scenario-range', ':5:10', '-1'],
  ['no state', `${GOOD}operator:\n- {at_s: 1, line: key}\n`, 'scenario-key-missing', ':5:3', 'operator[0].on'],
  ['a number as state', `${GOOD}operator:\n- {at_s: 1, line: key, on: 1}\n`, 'scenario-type', ':5:28', 'true or false'],
  ['a range', `${GOOD}setup:\n  box:\n    pierce_ms: 9000\n`, 'scenario-range', ':6:16', '0…5000 ms'],
  ['a wrong unit', `${GOOD}setup:\n  box:\n    pierce_ms: 1 s\n`, 'scenario-unit', ':6:16', 'ms'],
  ['a wrong section', `${GOOD}setup:\n  box:\n    wave_mm: 1\n`, 'scenario-key-unknown', ':6:5', 'section world'],
  ['a contradiction', `${GOOD}setup:\n  box:\n    cut_height_mm: 5\n`, 'setup-contradiction', ':6:20', '5 mm'],
  [
    'a fault of the world',
    `${GOOD}setup:\n  world:\n    faults:\n    - {kind: open-lead, at_s: 99999}\n`,
    'scenario-range',
    ':7:31',
    '86400 s',
  ],
];

describe('readScenario', () => {
  it.each(REFUSED)('refuses %s with its place and what to do', (_name, text, code, ...words) => {
    const error = refused(() => readScenario(text, 'run.yaml'));
    expect(error.code).toBe(code);
    for (const word of words) expect(error.message).toContain(word);
  });

  it('fills a partial setup with defaults', () => {
    const { setup, seed, program, operator } = readScenario(
      `${GOOD}setup:\n  box:\n    pierce_ms: 400 ms\n`,
      'run.yaml',
    );
    expect(setup).toEqual({ ...defaultSetup(), box: { ...defaultSetup().box, pierce_ms: 400 } });
    expect(seed).toBe(7);
    expect(program).toEqual({ name: 'gate.nc', text: 'M2' });
    expect(operator).toBeUndefined();
  });
});

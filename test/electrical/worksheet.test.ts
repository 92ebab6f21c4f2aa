import { describe, expect, it } from 'vitest';
import { BLANK_WORKSHEET, deriveWorksheet, readWorksheet } from '../../sim/electrical/index.js';
import { thrownBy } from '../support/thrown.js';

const HEAD = 'one,other,trigger,meter,volts\n';
const read = (...lines: readonly string[]) => readWorksheet(HEAD + lines.join('\n'), 'pairs.csv');
const derive = (...lines: readonly string[]) => deriveWorksheet(read(...lines));

/** A supply as it should be: pins 1 and 2 the trigger, 3 the electrode, 4 the work. */
const GOOD = [
  'electrode,clamp,released,open,0',
  'electrode,earth,released,open,0.1 V',
  'clamp,earth,released,beep,0',
  'electrode,pin3,released,beep,',
  'electrode,nozzle,released,beep,',
  'clamp,pin4,released,beep,',
  'pin1,pin2,released,open,',
  'pin2,pin1,pressed,beep,',
  'pin1,electrode,released,open,',
  'pin2,clamp,released,open,',
];

describe('a worksheet of pairs', () => {
  it('tells electrode, work and trigger apart', () => {
    expect(derive(...GOOD)).toEqual({
      electrode: ['pin3'],
      work: ['pin4'],
      trigger: [['pin1', 'pin2']],
      contradictions: [],
      open: [],
    });
  });

  it.each([
    [
      'a voltage with the plug pulled',
      'electrode,pin9,released,open,-48',
      /:12: 48 V between electrode and pin9 .* not dead/,
    ],
    ['a pair that is open against two that beep', 'pin3,nozzle,released,open,', /:12: pin3 and nozzle are open/],
    ['one conductor at both electrode and work', 'pin3,clamp,released,beep,', /electrode and clamp are one/],
    ['an earthed electrode', 'pin3,earth,released,beep,', /electrode and earth are one/],
    ['a trigger on the work', 'pin1,pin4,released,beep,', /pin1 belongs to the trigger and is one with clamp/],
  ])('names %s', (_name, line, sentence) => {
    expect(derive(...GOOD, line).contradictions).toContainEqual(expect.stringMatching(sentence));
  });

  it('says what is still to be measured', () => {
    const { open, contradictions } = derive('electrode,pin3,released,beep,');
    expect(contradictions).toEqual([]);
    expect(open).toHaveLength(5);
    expect(open[0]).toBe('measure electrode against clamp');
    // Measured released alone, a trigger is an open pair like any other.
    expect(derive(...GOOD.filter((line) => !line.includes('pressed'))).open.join()).toContain('trigger released');
  });

  it('is refused with its line where a value is none, and blank until a pair is filled in', () => {
    for (const [line, code] of [
      ['a,b,released,hum,0', 'worksheet-cell'],
      ['a,b,half,open,0', 'worksheet-cell'],
      ['a,a,released,open,0', 'worksheet-cell'],
      ['a,b,released,open,lots', 'worksheet-cell'],
      ['a,b,released,open,V', 'worksheet-cell'],
      ['a,b,released,open', 'worksheet-cell'],
    ] as const) {
      expect(
        thrownBy(() => read(line)),
        line,
      ).toMatchObject({ code, what: expect.stringContaining('pairs.csv:2') });
    }
    expect(thrownBy(() => readWorksheet(BLANK_WORKSHEET, 'b.csv'))).toMatchObject({ code: 'worksheet-empty' });
    expect(thrownBy(() => readWorksheet('a,b\n', 'b.csv'))).toMatchObject({ code: 'worksheet-head' });
  });
});

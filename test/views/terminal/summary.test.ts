import { stripVTControlCharacters } from 'node:util';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CAUTIONS, summaryText } from '../../../sim/views/terminal/index.js';
import { contour, fault, made, type RunChange, requirement } from './made-run.js';

const UNICODE = { unicode: true, colour: false };
const text = (change: RunChange = {}, width = 80) => summaryText(made(change), width, UNICODE);
const words = (change: RunChange = {}, width = 80) => text(change, width).replace(/\s+/g, ' ');

const BAD: RunChange = {
  requirements: [
    requirement('trigger-path', -2, { kind: 'requirement', number: 3, unit: 'times', worst_tick: 4321 }),
    requirement('trigger-permission', 0, { kind: 'requirement', number: 1 }),
    requirement('corner-dive', -0.12),
  ],
  figures: {
    contacts: 2,
    corner_dive_mm: 1.6,
    faults: [fault(7, 'arc-lost')],
    contours: [contour(0, 12), contour(1, 30, { faults: [fault(7, 'arc-lost')], standoff_error_rms_mm: null })],
  },
  run: { outcome: { ended: 'stopped', reason: 'the motion permit was withdrawn', line: 31 } },
};

describe('the closing report', () => {
  it('begins with what was tried: program, seed and the assumed ranges', () => {
    expect(words()).toMatch(
      /^Tried: hinge-plates\.nc, seed 7; sheet ±2\.5 mm over 250 mm, tilt 2 %; noise 1 V rms a tick\./,
    );
  });

  it('says what was found when all went well', () => {
    expect(words()).toContain(
      'Finished: the program came to its end, 2 contours in 1:05; 1 requirement kept, 1 more never put to the test; the torch never hit the sheet; while following the standoff was within 0.14 mm for 99.9 % of the time; every quality goal met.',
    );
    expect(words()).not.toContain('What to change');
    expect(words()).not.toContain('Before a hand goes to');
  });

  it('does not call a quality goal met that the run never put to the test', () => {
    const requirements = made().requirements.map((one) => (one.kind === 'goal' ? { ...one, checked: 0 } : one));
    const report = words({ requirements });
    expect(report).toContain('no quality goal missed.');
    expect(report).toContain('2 quality goals never put to the test.');
    expect(report).not.toMatch(/goals? met/);
  });

  it('says what was found when it did not', () => {
    expect(words(BAD)).toContain(
      'BROKEN: 1 REQUIREMENT (trigger-path); 2 CONTACTS with the sheet; STOPPED by the box in contour 2 of 2, line 31, at 0:12: ' +
        'arc-lost, the arc went out during the cut;',
    );
    expect(words(BAD)).toContain('1 quality goal missed');
  });

  it('says of a run that the user ended that it is a part, and gives no advice for that', () => {
    const part = words({ run: { outcome: { ended: 'interrupted', reason: 'ended with q', line: 41 } } });
    expect(part).toContain(
      'STOPPED by you before the first contour, line 41, at 1:05: ended with q; 1 requirement kept',
    );
    expect(part).not.toContain('What to change');
  });

  it('lists broken requirements with margin and time, and counts the kept ones and those never put to the test', () => {
    expect(words(BAD)).toContain('BROKEN: requirement 3, trigger-path, by 2.000 times at 4.321 s: the statement of');
    expect(words(BAD)).toContain('missed: corner-dive, by 0.120 mm: the statement of');
    expect(words(BAD)).toContain('1 requirement kept.');
    expect(words()).toContain('1 requirement kept; 1 more never put to the test.');
    expect(words()).not.toContain('BROKEN');
  });

  it('has a row for each contour, with a dash for what there was no occasion for', () => {
    const lines = text(BAD).split('\n');
    expect(lines).toContainEqual(
      expect.stringMatching(/^ *no\. +line +mm +starts +rms +95 % +worst +least +holds +faults$/),
    );
    expect(lines).toContainEqual(expect.stringMatching(/^ +1 +12 +512 +1 +0\.031 +0\.06 +0\.19 +1\.31 +4 corner +-$/));
    expect(lines).toContainEqual(
      expect.stringMatching(/^ +2 +30 +512 +1 +- +0\.06 +0\.19 +1\.31 +4 corner +arc-lost$/),
    );
  });

  it('fits ten contours with two kinds of holds into 80 columns, without a column of no faults', () => {
    const holds = [
      { cause: 'corner', count: 5, time_s: 1, length_mm: 9 },
      { cause: 'crossing', count: 1, time_s: 1, length_mm: 9 },
    ];
    const contours = Array.from({ length: 10 }, (_, index) => contour(index, 10 * index, { holds }));
    const lines = text({ figures: { contours } }).split('\n');
    expect(lines).toContainEqual(expect.stringMatching(/^ *10 +90 +512 .* 5 corner, 1 crossing$/));
    expect(lines).toContainEqual(expect.stringMatching(/least +holds$/));
  });

  it('turns the table into sentences on a narrow terminal', () => {
    const narrow = words(BAD, 50);
    expect(narrow).toContain(
      '1 (line 12): 512 mm, 1 start; error rms 0.031, 95 % 0.06, worst 0.19 mm; least standoff 1.31 mm; holds: 4 corner.',
    );
    expect(narrow).toContain('faults: arc-lost.');
  });

  it('shows the worst contours of a long program and counts the rest', () => {
    const contours = Array.from({ length: 500 }, (_, index) =>
      contour(index, 10 * index, { standoff_error_worst_mm: index === 321 ? 0.9 : 0.1 }),
    );
    contours[44] = contour(44, 440, { faults: [fault(6, 'no-arc')], standoff_error_worst_mm: 0.05 });
    const lines = text({ figures: { contours } }).split('\n');
    expect(lines.some((line) => /^ *322 +3210 /.test(line))).toBe(true);
    expect(lines.some((line) => /no-arc$/.test(line))).toBe(true);
    expect(words({ figures: { contours } })).toContain(
      'and 476 contours without fault and with a smaller worst error.',
    );
    expect(lines.length).toBeLessThan(60);
  });

  it('gives each advice as the sentences that it has, one after the other', () => {
    const advice = [
      {
        what: 'Z has 400 µm of backlash.',
        seen: 'A dial gauge shows it.',
        do: 'Take it up.',
        result: 'Tried on 6 seeds.',
      },
      { what: 'The sheet vibrates.', seen: '', do: '', result: 'Nothing that was tried helps.' },
    ];
    const report = words({ run: { advice } });
    expect(report).toContain(
      'What to change - Z has 400 µm of backlash. A dial gauge shows it. Take it up. Tried on 6 seeds. ' +
        '- The sheet vibrates. Nothing that was tried helps.',
    );
    expect(report).toContain('Before a hand goes to torch, leads or divider: unplug the supply, and prove it dead');
  });

  it('gives figures with their units', () => {
    const all = words();
    for (const part of ['standoff error, rms 0.031 mm', 'cut length 2.00 m', 'arc on 45.0 s', 'Z reversals 4.0 /s'])
      expect(all).toContain(part);
  });

  it('ends with the cautions and never calls anything safe', () => {
    for (const change of [{}, BAD]) {
      const lower = words(change);
      expect(lower.endsWith(CAUTIONS.join(' '))).toBe(true);
      expect(lower.toLowerCase()).not.toMatch(/\b(un)?safe/);
    }
    expect(CAUTIONS.join(' ')).toMatch(/kill/);
    expect(CAUTIONS.join(' ')).toMatch(/Electrical code and licensed practice/);
  });

  it('fits every width from 30 on, in ASCII when asked, and says the same in colour', () => {
    fc.assert(
      fc.property(fc.integer({ min: 30, max: 200 }), fc.constantFrom({}, BAD), (width, change) => {
        const run = made(change);
        const plain = summaryText(run, width, { unicode: false, colour: false });
        expect(plain).toMatch(/^[\n\x20-\x7e]*$/);
        for (const line of plain.split('\n')) expect(line.length).toBeLessThanOrEqual(width);
        const unicode = summaryText(run, width, UNICODE);
        for (const line of unicode.split('\n')) expect([...line].length).toBeLessThanOrEqual(width);
        const coloured = summaryText(run, width, { unicode: true, colour: true });
        expect(coloured).not.toBe(unicode);
        expect(stripVTControlCharacters(coloured)).toBe(unicode);
      }),
      { numRuns: 100 },
    );
  });
});

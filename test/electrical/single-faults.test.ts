import { describe, expect, it } from 'vitest';
import { PIN_ROWS } from '../../firmware/ports/rp2040/board-rows.js';
import { tryFaults } from '../../sim/campaign/index.js';
import { DEFAULT_LIMITS, dataSheet } from '../../sim/electrical/index.js';
import { loadControlModule } from '../../sim/run/controller/index.js';
import { useOf } from '../../sim/run/job/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import type { FaultKind } from '../../sim/world/plant/index.js';
import { expectPagePart, markdownTable } from '../support/page-part.js';
import { LINE_ROWS, NOT_IN_THE_CHAIN } from './line-rows.js';
import { MOMENTS, type Moment, type Trial, tryLines } from './lines-trial.js';
import { resultText, trialText } from './trial-text.js';

const module = loadControlModule();
const bad = ({ contacts, live_ms }: Trial) => contacts > 0 || live_ms === Infinity;

describe('every wire and contact, open and bridged', () => {
  const results = LINE_ROWS.map(({ pin, failure, wire }) => ({
    name: `${pin} ${failure}`,
    pin,
    failure,
    trials: MOMENTS.map((moment) => tryLines(module, { moment, wire })),
  }));
  const trialOf = (name: string, moment: Moment) =>
    results.find((result) => result.name === name)!.trials[MOMENTS.indexOf(moment)];

  it('has a row for each pin that the simulated chain has', () => {
    const named = [...new Set([...LINE_ROWS.map(({ pin }) => pin), ...NOT_IN_THE_CHAIN])];
    expect(named.sort()).toEqual(PIN_ROWS.map(({ name }) => name).sort());
  });

  it('is tried in a cut that is sound without the failure', () => {
    for (const moment of MOMENTS) {
      const sound = tryLines(module, { moment });
      expect(sound).toMatchObject({ faults: [], starts: 1, contacts: 0, finished: true });
      expect(sound.cut_mm).toBeGreaterThan(349);
    }
    // The failure in the cut comes after the arc and before the corner: 350 mm at 50 mm/s are 7 s.
    const { live_ms } = tryLines(module, { moment: 'in the cut' });
    expect(live_ms).toBeGreaterThan(2000);
    expect(live_ms).toBeLessThan(7000);
  });

  it.each(['KEY', 'REQUEST', 'STOP_CHAIN', 'BREAKAWAY'])('%s open: nothing is fired, and a cut ends at once', (pin) => {
    expect(trialOf(`${pin} wire open`, 'from power-up')).toMatchObject({ starts: 0, live_ms: 0, trigger_ms: 0 });
    // Two ticks of the debounced holder switch at most; none of the others is debounced on opening.
    expect(trialOf(`${pin} wire open`, 'in the cut').trigger_ms).toBeLessThanOrEqual(pin === 'BREAKAWAY' ? 3 : 0);
  });

  it('leaves a torch live or lets it meet the sheet in these cases and no other; the page names them', () => {
    const found = results.flatMap(({ name, trials }) =>
      trials.flatMap((trial, n) => (bad(trial) ? [`${name}, ${MOMENTS[n]}`] : [])),
    );
    expectPagePart(
      'single-faults.md',
      'wires that end badly',
      found.map((each) => `- ${each}`),
    );
    for (const each of found) expect(each).toMatch(/^(?:TRIGGER relay|Z_DIRECTION stuck low, in the cut)/);
  });

  it('ends in no-arc when the contact of the supply is used and open', () => {
    const { wire } = LINE_ROWS.find(({ pin, failure }) => pin === 'SUPPLY_CONTACT' && failure === 'wire open')!;
    const trial = tryLines(module, { moment: 'from power-up', wire, box: { supply_contact: 1 } });
    expect(trial).toMatchObject({ faults: ['no-arc'], permit: false });
  });

  it('gives the table of the page', () => {
    const rows = results.map(({ pin, failure, trials }) => [`\`${pin}\``, failure, ...trials.map(trialText)]);
    expectPagePart('single-faults.md', 'wires', markdownTable(['pin', 'failure', ...MOMENTS], rows));
  });
});

describe('every resistor and capacitor of the divider, open and shorted', () => {
  const setup = exampleSetup();
  const use = useOf(setup);
  const trials = tryFaults(setup, dataSheet(setup.machine, use, DEFAULT_LIMITS).faults, module, 1);

  it('is noticed or harmless: none ends with the torch on the sheet or a requirement broken', () => {
    for (const { fault, results } of trials) {
      for (const { verdict } of results) expect(['noticed', 'harmless', 'rougher'], fault.part).toContain(verdict);
    }
  });

  it('gives the table of the page', () => {
    const rows = new Map<string, string[]>();
    for (const { fault, results } of trials) {
      const cells = [fault.failure, `${Math.round(fault.reads_V)} V`, ...results.map(resultText)];
      const key = cells.join('|');
      rows.set(key, [...(rows.get(key) ?? []), fault.part]);
    }
    const lines = [...rows].map(([key, parts]) => [parts.join(', '), ...key.split('|')]);
    const titles = ['part', 'failure', `${use.target_V} V of arc read`, 'from power-up', 'in the cut'];
    expectPagePart('single-faults.md', 'divider', markdownTable(titles, lines));
  });
});

describe('a stop chain in the coil of the firing relay, alone', () => {
  const STOPPED_AT_s = 10;
  const pressed = [
    { at_s: 0.2, line: 'key', on: true },
    { at_s: STOPPED_AT_s, line: 'stop-chain', on: false },
  ] as const;
  const cases: readonly (readonly [string, FaultKind | undefined])[] = [
    ['sound relay', undefined],
    ['welded firing contact', 'welded-relay'],
    ['supply whose trigger latches', 'latching-trigger'],
    ['a hand on the torch’s own trigger', 'hand-on-trigger'],
  ];
  // The fault comes a second before the button.
  const before_ms = 1000;
  const results = cases.map(([words, kind]) => {
    const trial = tryLines(module, { moment: 'in the cut', operator: pressed, ...(kind && { kind }) });
    return { words, trial };
  });

  it('ends the arc of a sound relay, and of nothing else', () => {
    expect(results.map(({ trial }) => trial.live_ms === Infinity)).toEqual([false, true, true, true]);
    for (const { trial } of results) expect(trial.trigger_ms).toBe(before_ms);
  });

  it('gives the table of the page', () => {
    const rows = results.map(({ words, trial: { live_ms, latched_ms, faults } }) => [
      words,
      live_ms === Infinity ? 'the arc burns on' : `torch dead within ${bound(live_ms)} ms`,
      faults.map((fault) => `\`${fault}\``).join(', then '),
      latched_ms === undefined ? 'not set' : `set within ${bound(latched_ms)} ms`,
    ]);
    const titles = ['stop pressed with', 'torch', 'the box says', 'latched stop'];
    expectPagePart('stops.md', 'stop chain alone', markdownTable(titles, rows));
  });

  function bound(ms: number): number {
    return Math.ceil((ms - before_ms) / 50) * 50;
  }
});

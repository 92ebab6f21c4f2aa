// What the box does not keep today, in the world that shows it. Each test expects the requirement to be broken, or the goal to
// be missed: when the box has learnt it the test fails, and is turned round. DEVELOPERS.md lists them; a test compares the lists.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { INPUT_REQUEST } from '../../../firmware/wire/layout.gen.js';
import { CaseRunner, rangesAround } from '../../../sim/campaign/index.js';
import { WasmController } from '../../../sim/run/controller/index.js';
import { defaultSetup } from '../../../sim/run/setup/index.js';
import { type Cut, cut, OVER_THE_EDGE, STRAIGHT } from './cut.js';

const KEY = { at_s: 0.2, line: 'key', on: true } as const;

/** Broken, by at least this much: far from what rounding could do. */
function expectBroken({ result }: Cut, name: string, by: number): void {
  expect(result(name), name).toMatchObject({ kept: false });
  expect(result(name).margin, name).toBeLessThanOrEqual(-by);
}

/** An arc of another voltage than the box was told, 118 V. */
const arcOf = (volts: number, target_learned = 1) =>
  cut(STRAIGHT, { box: { target_learned }, world: { 'arc.voltage_at_cut_V': volts } });
/** A motion controller, or a crossed wire, that asks for the torch while the table still goes to the start of the contour. */
class EarlyRequest extends WasmController {
  private ticks = 0;
  override tick(): void {
    // The program starts 400 ms after power-up.
    if (++this.ticks > 420) this.digital_inputs |= INPUT_REQUEST;
    super.tick();
  }
}

describe('what the box does not keep today', () => {
  it('known failure 9: the box must see an arc that is out above the arc window: where the supply strikes again by itself, and beyond the sheet', () => {
    const out = cut(STRAIGHT, {
      faults: [{ kind: 'arc-goes-out', at_s: 9, for_s: 0.001 }],
      machine: { 'supply.restrikes': true },
    });
    expectBroken(out, 'permit-without-arc', 50);
    expectBroken(cut(OVER_THE_EDGE), 'permit-without-arc', 1);
  });

  it('known failure 10: the box must see a table that moves although the tap of a step line is dead: it leaves Z alone', () => {
    const unseen = cut(STRAIGHT, {
      faults: [{ kind: 'dead-x-step-tap', at_s: 6.5 }],
      world: { 'sheet.tilt_x': -0.03, 'arc.slope_V_per_mm': 3 },
    });
    expect(unseen).toMatchObject({ broken: [] });
    expectBroken(unseen, 'most-standoff', 500);
  });

  it('known failure 11: the box must keep the torch off the sheet in every world that a campaign draws', () => {
    const setup = defaultSetup();
    const cases = new CaseRunner({ setup, ranges: rangesAround(setup), programs: [], seed: 1 });
    const broken = Array.from({ length: 250 }, (_, index) => index).find((index) =>
      cases.judge(index).requirements.some(({ name, kept }) => name === 'no-contact' && !kept),
    );
    expect(broken).toBeDefined();
  });

  it('but a hold from outside is over after its path, though its input stays on', () => {
    const held = cut(STRAIGHT, {
      box: { hold_carried: 0 },
      operator: [KEY, { at_s: 5, line: 'hold', on: true }],
      world: { 'sheet.tilt_x': -0.015, 'arc.slope_V_per_mm': 3 },
    });
    expect(held).toMatchObject({ broken: [], faults: [], outcome: { ended: 'finished' } });
    expect(held.result('most-standoff')).toMatchObject({ kept: true });
  });
});

describe('what the box once did not keep', () => {
  it('rises in a hold before the torch touches a sheet that rises, however long the hold lasts', () => {
    const held = cut(STRAIGHT, {
      box: { hold_carried: 0, external_path_mm: 1000 },
      operator: [KEY, { at_s: 6.5, line: 'hold', on: true }],
      world: { 'sheet.tilt_x': 0.03 },
    });
    expect(held).toMatchObject({ broken: [], faults: [], figures: { contacts: 0 } });
    expect(held.result('no-contact').margin).toBeGreaterThan(0.4);
    expect(held.result('contact-ends-cut')).toMatchObject({ kept: true });
  });

  it('ends a start over a table that moves, and sets the latched stop where the table goes on', () => {
    const early = cut(STRAIGHT, { controller: EarlyRequest });
    expect(early).toMatchObject({ broken: [], faults: ['early-motion', 'stray-motion'] });
    expect(early.result('motion-before-permit').margin).toBeLessThan(30);
    expect(early.figures.arc_on_s).toBe(0);
  });

  it('ends the cut when its touch-off switch closes in it', () => {
    const stuck = cut(STRAIGHT, { faults: [{ kind: 'stuck-touch-switch', at_s: 7, value: 1 }] });
    expect(stuck).toMatchObject({ broken: [], faults: ['contact', 'touch-stuck'] });
    expect(stuck.result('touch-ends-cut')).toMatchObject({ kept: true });
  });

  it('withdraws the permit within 50 ms when the arc goes out', () => {
    for (const at_s of [7, 8.003, 9, 10.007]) {
      const out = cut(STRAIGHT, { faults: [{ kind: 'arc-goes-out', at_s }] });
      expect(out).toMatchObject({ broken: [], outcome: { ended: 'stopped' } });
      expect(out.result('permit-without-arc')).toMatchObject({ kept: true });
    }
  });

  it('finds the sheet where the switch opens, whatever it chatters when it closes', () => {
    for (const seed of [1, 2, 3, 4, 5, 6, 7, 8]) {
      const chattering = cut(STRAIGHT, { seed, machine: { 'head.bounce_ms': 12 } });
      expect(chattering).toMatchObject({ broken: [], faults: [] });
    }
  });
});

describe('an arc of another voltage than told', () => {
  it.each([114, 122])('%i V instead of 118 are found: the torch keeps its standoff', (volts) => {
    const found = arcOf(volts);
    expect(found).toMatchObject({ broken: [], faults: [], outcome: { ended: 'finished' } });
    expect(found.result('least-standoff')).toMatchObject({ kept: true });
    expect(Math.abs(found.figures.standoff_error_mean_mm!)).toBeLessThan(0.15);
    expect(found.figures.found_target_V!).toBeCloseTo(volts, 0);
  });

  it('brings the torch down by a millimetre under a told target', () => {
    const low = arcOf(123, 0);
    expectBroken(low, 'least-standoff', 0.1);
    expect(low.figures.standoff_error_mean_mm).toBeLessThan(-0.95);
  });
});

describe('a sound world', () => {
  it('keeps every requirement and goal by which these are judged', () => {
    const { result, broken } = cut(STRAIGHT);
    expect(broken).toEqual([]);
    for (const name of ['least-standoff', 'arc-on-one-spot', 'permit-over-arc', 'permit-without-arc', 'pierce-time'])
      expect(result(name)).toMatchObject({ kept: true });
    for (const name of ['motion-over-arc', 'motion-before-permit', 'contact-ends-cut', 'touch-ends-cut'])
      expect(result(name)).toMatchObject({ kept: true });
  });
});

describe('the list in DEVELOPERS.md', () => {
  const known = (text: string) =>
    [...text.matchAll(/known failure (\d+): ([^'\n]+)/gi)].map(([, no, what]) => `${no}: ${what}`);
  const listed = /\n## Known failures\n(.*?)\n## /s.exec(
    readFileSync(new URL('../../../DEVELOPERS.md', import.meta.url), 'utf8'),
  )![1];

  it('has each known failure with its number and what the box must learn', () => {
    const here = known(readFileSync(new URL(import.meta.url), 'utf8').replaceAll("it('", '\n'));
    // A number is never given again: what the box has learnt leaves a gap.
    const numbers = here.map((one) => Number.parseInt(one, 10));
    expect(numbers).toEqual([...new Set(numbers)].sort((a, b) => a - b));
    const rows = listed.split('\n').filter((line) => /^\| \d/.test(line));
    expect(
      rows.map((row) =>
        row
          .split('|')
          .slice(1, 3)
          .map((cell) => cell.trim())
          .join(': '),
      ),
    ).toEqual(here);
  });
});

import { describe, expect, it } from 'vitest';
import { QUESTIONS } from '../../sim/commands/electrical/supply.js';
import { judgeSupply, type SupplyAnswers } from '../../sim/electrical/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';

const example: SupplyAnswers = exampleSetup().machine.supply;
const good: SupplyAnswers = { ...example, breaker_A: 40 };
const find = (answers: Partial<SupplyAnswers>, matter: string) =>
  judgeSupply({ ...good, ...answers }).findings.find((one) => one.matter === matter)!;

describe('the judgement of a supply', () => {
  it('is suitable when nothing speaks against it, each matter with its reason', () => {
    const { verdict, findings, missing } = judgeSupply(good);
    expect(missing).toEqual([]);
    expect(verdict).toBe('suitable');
    expect(findings).toHaveLength(7);
    for (const { reason } of findings) expect(reason.length).toBeGreaterThan(10);
  });

  it.each([
    ['trigger', { trigger_latching: true }, 'not suitable', /latches/],
    ['start of the pilot arc', { high_frequency_start: true }, 'suitable if', /high frequency .* destroys converters/],
    ['start of the pilot arc', { high_frequency_start: null }, 'not known yet', /destroys converters/],
    ['arc voltage', { raw_voltage_terminals: false }, 'not suitable', /cannot be taken/],
    ['no-load voltage', { no_load_V: 620 }, 'not suitable', /above 500 V/],
    ['no-load voltage', { no_load_V: 28 }, 'not known yet', /look again/],
    ['no-load voltage', { no_load_V: null }, 'not known yet', /size the divider for 500 V/],
    ['air', { air_interlock: false }, 'suitable if', /pressure switch/],
    ['current and duty cycle', { cut_A: 50 }, 'not suitable', /more than the rated 40 A/],
    ['current and duty cycle', { duty_percent: 20 }, 'suitable if', /2\.0 min of arc/],
    ['mains circuit', { breaker_A: 16 }, 'not suitable', /more than the breaker's 16 A/],
    ['mains circuit', { breaker_A: 32 }, 'suitable if', /cuts are short/],
    ['mains circuit', { breaker_A: null }, 'not known yet', /carries the input current: it asks for about/],
    ['mains circuit', { mains_V: null }, 'not known yet', /carries the input current/],
  ] as const)('%s with %j: %s', (matter, answers, verdict, reason) => {
    expect(find(answers, matter)).toMatchObject({ verdict, reason: expect.stringMatching(reason) });
    expect(judgeSupply({ ...good, ...answers }).verdict).toBe(verdict);
  });

  it('is not known yet whatever single answer is missing, and asks for that one', () => {
    for (const { name } of QUESTIONS) {
      const { verdict, missing } = judgeSupply({ ...good, [name]: null });
      expect([verdict, missing], name).toEqual(['not known yet', [name]]);
    }
  });

  it('knows nothing when nothing is known, and asks first for what can hurt', () => {
    const nothing = Object.fromEntries(QUESTIONS.map(({ name }) => [name, null]));
    const { verdict, missing, findings } = judgeSupply({ ...good, ...nothing });
    expect(verdict).toBe('not known yet');
    expect(findings.every((one) => one.verdict === 'not known yet')).toBe(true);
    expect([...missing].sort()).toEqual(QUESTIONS.map(({ name }) => name).sort());
    expect(missing.slice(0, 2)).toEqual(['trigger_latching', 'high_frequency_start']);
  });

  it('is not suitable for one matter that does not suit, although another is not known', () => {
    expect(judgeSupply({ ...good, trigger_latching: true, no_load_V: null }).verdict).toBe('not suitable');
  });

  it('takes conductors that were found by measuring, on conditions', () => {
    const { verdict, findings } = judgeSupply({ ...good, raw_voltage_terminals: 'measured' });
    expect(verdict).toBe('suitable if');
    expect(findings.find(({ matter }) => matter === 'arc voltage')!.reason).toContain('plug pulled');
  });

  it('asks for less current from three phases and from a higher voltage', () => {
    const input = (answers: Partial<SupplyAnswers>) => judgeSupply({ ...good, ...answers }).input!.input_A;
    expect(input({ phases: 3 })).toBeCloseTo(input({}) / Math.sqrt(3), 9);
    expect(input({ mains_V: 460 })).toBeCloseTo(input({}) / 2, 9);
  });

  it('leaves to the breaker what the input does not take', () => {
    const { input } = judgeSupply(good);
    expect(input!.margin_A).toBeCloseTo(40 - input!.input_A, 12);
  });
});

import { describe, expect, it } from 'vitest';
import { QUESTIONS } from '../../sim/commands/electrical/supply.js';
import { judgeSupply, type SupplyAnswers } from '../../sim/electrical/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';

const example: SupplyAnswers = exampleSetup().machine.supply;
const good: SupplyAnswers = { ...example, breaker_A: 40 };
const find = (answers: Partial<SupplyAnswers>, matter: string) =>
  judgeSupply({ ...good, ...answers }).findings.find((one) => one.matter === matter)!;

describe('the judgement of a supply', () => {
  it('is fit when nothing speaks against it, each matter with its reason', () => {
    const { fit, findings } = judgeSupply(good);
    expect(fit).toBe('fit');
    expect(findings).toHaveLength(7);
    for (const { reason } of findings) expect(reason.length).toBeGreaterThan(10);
  });

  it.each([
    ['trigger', { trigger_latching: true }, 'not fit', /latches/],
    ['start of the pilot arc', { high_frequency_start: true }, 'fit if', /high frequency .* destroys converters/],
    ['start of the pilot arc', { high_frequency_start: null }, 'fit if', /destroys converters/],
    ['arc voltage', { raw_voltage_terminals: false }, 'not fit', /cannot be taken/],
    ['no-load voltage', { no_load_V: 620 }, 'not fit', /above 500 V/],
    ['no-load voltage', { no_load_V: 28 }, 'fit if', /look again/],
    ['no-load voltage', { no_load_V: null }, 'fit if', /size the divider for 500 V/],
    ['air', { air_interlock: false }, 'fit if', /pressure switch/],
    ['current and duty cycle', { cut_A: 50 }, 'not fit', /more than the rated 40 A/],
    ['current and duty cycle', { duty_percent: 20 }, 'fit if', /2\.0 min of arc/],
    ['mains circuit', { breaker_A: 16 }, 'not fit', /more than the breaker's 16 A/],
    ['mains circuit', { breaker_A: 32 }, 'fit if', /cuts are short/],
    ['mains circuit', { breaker_A: null }, 'fit if', /the breaker carries it/],
    ['mains circuit', { mains_V: null }, 'fit if', /give mains/],
  ] as const)('%s with %j: %s', (matter, answers, fit, reason) => {
    expect(find(answers, matter)).toMatchObject({ fit, reason: expect.stringMatching(reason) });
    expect(judgeSupply({ ...good, ...answers }).fit).toBe(fit);
  });

  it('is never better for a matter that is not known', () => {
    const order = ['fit', 'fit if', 'not fit'];
    for (const { name } of QUESTIONS) {
      const { fit } = judgeSupply({ ...good, [name]: null });
      expect(order.indexOf(fit), name).toBeGreaterThanOrEqual(1);
    }
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
